// Shots: what is drawn, in the words that `drawing.js` reads the class page's map by. A point is a shot's place.
"use strict";

const PLACES = 64;
const map = { tones: {}, inks: {}, layers: [], closed: false, word: [], reasons: [] };
let drawnShots = [];

const pointAt = ([place]) => place;
const placesOf = (point) => [point];
const wordAt = (point) => ({ word: drawnShots[point].shot.word, meaning: drawnShots[point].shot.word });
const isSolved = () => true;
const isUsual = () => true;
const beamAt = ([place]) => drawnShots[place].shot.beam;
const settingText = ([place]) => textOf(drawnShots[place].settings);
const told = (point) => wordsOf(drawnShots[point].shot);

function outlinesAt(point) {
  const { reach, depths } = drawnShots[point].shot.outlines;
  const radius = Array.from({ length: PLACES }, (_, place) => (reach * place) / (PLACES - 1));
  return { radius, depths, step: 1, reach, deepest: Math.max(...depths[3]) };
}

// Draw shots at one scale, each into the figure of its name.
function drawShots(shots, names) {
  drawnShots = shots;
  const frame = frameOf(shots.map((_, place) => place));
  names.forEach((name, place) => draw(name, [place], frame, names.length > 1));
}

// A figure of a shot as its table writes it; null where it does not apply.
const figureText = (shot, name) => shot.rows.find((row) => row.name === name)?.text ?? null;

// What a shot did, in one sentence.
function wordsOf(shot) {
  const { crater_depth: depth, char_thickness_floor: char, coagulation_thickness_floor: heat } = shot.values;
  const said = (name) => figureText(shot, name) ?? "0 µm";
  const hole = depth ? `crater with a depth of ${said("crater_depth")} and a width of ${said("crater_width")}` : "nothing removed at the axis";
  const layers = [char ? `charred ${said("char_thickness_floor")} at the floor` : "no char at the floor", heat ? `coagulated ${said("coagulation_thickness_floor")} at the floor` : null];
  return `${shot.text}; ${[hole, ...layers].filter(Boolean).join(", ")}`;
}
