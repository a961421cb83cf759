// Shots: what is drawn, in the words that `drawing.js` reads the class page's map by. A point is a shot's place.
"use strict";

const PLACES = 64;
const map = { tones: {}, inks: {}, layers: [], closed: false, word: [], reasons: [] };
let drawnShots = [];

const pointAt = ([place]) => place;
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

// What a shot did, in one sentence.
function wordsOf(shot) {
  const { crater_depth: depth, crater_width: width, coagulation_thickness_floor: heat } = shot.values;
  const hole = depth ? `crater ${lengthText(depth * 1e6)} deep and ${lengthText((width ?? 0) * 1e6)} wide` : "nothing removed";
  const char = shot.values.char_thickness_floor;
  const layers = [char ? `charred ${lengthText(char * 1e6)}` : "no char", heat ? `coagulated ${lengthText(heat * 1e6)} at the floor` : null];
  return `${shot.text}; ${[hole, ...layers].filter(Boolean).join(", ")}`;
}
