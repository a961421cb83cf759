// Data: the map as the page holds it, points by their place along each axis, and numbers as texts.

const map = JSON.parse(document.getElementById("data").textContent);
const PLACES = 64;
const NAMES = ["A", "B"];
const byId = (id) => document.getElementById(id);

// Number of the point at these places, in the order of the file.
function pointAt(places) {
  return places.reduce((number, place, axis) => number * map.axes[axis].values.length + place, 0);
}

const wordAt = (point) => map.words[map.word[point]];

function isSolved(point) {
  const word = wordAt(point).word;
  return word !== "" && word !== "failed";
}

// Settings with verdicts that the model vouches for most; these decide on the scale of the whole map.
const isUsual = (point) => isSolved(point) && !["too deep", "perforated"].includes(wordAt(point).word);

function figureAt(name, point) {
  return map.values[name][point];
}

// A verdict with the odds that the draws give it, where the map has some.
function judgedAt(point) {
  const odds = map.odds?.[point];
  return odds ? `${wordAt(point).meaning}, ${odds}` : wordAt(point).meaning;
}

// Outlines of a point in um: radius, and depths of crater, char, dried and coagulated; null if none were kept.
function outlinesAt(point) {
  const kept = map.outlines[point];
  if (kept === null) return null;
  const step = map.steps[point];
  const radius = Array.from({ length: PLACES }, (_, place) => (map.ends[point] * place) / (PLACES - 1));
  const above = new Array(PLACES).fill(0);
  const depths = [0, 1, 2, 3].map((zone) =>
    above.map((_, place) => (above[place] += kept[zone * PLACES + place]) * step));
  return { radius, depths, step, reach: map.ends[point], deepest: Math.max(...depths[3]) };
}

// Beam at these places, with its diameter in um and its mean irradiance in W/mm²; null where none is known.
function beamAt(places) {
  if (map.beam === null) return null;
  const { across, axis } = map.beam;
  return { ...map.beam, diameter: across[axis === null ? 0 : places[axis]], mean: figureAt("irradiance_mean", pointAt(places)) };
}

// Three significant digits, without an exponent.
function significant(number) {
  if (number === 0) return "0";
  const rounded = Number(number.toPrecision(3));
  const decimals = 2 - Math.floor(Math.log10(Math.abs(rounded)));
  return rounded.toFixed(Math.min(Math.max(decimals, 0), 8));
}

// A length in um as text, such as 614 µm or 1.42 mm.
function lengthText(length) {
  return Math.abs(length) >= 999.5 ? `${significant(length / 1000)} mm` : `${significant(length)} µm`;
}

// The same without idle zeros, such as 2 mm.
function plainLength(length) {
  const [number, unit] = length >= 999.5 ? [length / 1000, "mm"] : [length, "µm"];
  return `${Number(number.toPrecision(4))} ${unit}`;
}

function shownFigure(figure, value) {
  if (value === null) return "–";
  return figure.unit === "µm" ? lengthText(value) : `${significant(value)} ${figure.unit}`;
}

// Both ends of a figure's interval, such as 378 to 773 µm; null where the map has none or the draws change nothing.
function intervalText(figure, point) {
  const ends = map.intervals?.[figure.name]?.[point];
  if (!ends) return null;
  return rangeText(...ends.map((end) => shownFigure(figure, end)));
}

function axisText(axis, place) {
  const { label, unit, texts } = map.axes[axis];
  return `${label} ${texts[place]}${unit ? ` ${unit}` : ""}`;
}

const settingText = (places) => places.map((place, axis) => axisText(axis, place)).join(", ");

// An element with attributes and children; texts are never read as HTML.
function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  return filled(made, attributes, children);
}

function drawn(tag, attributes = {}, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  return filled(made, attributes, children);
}

function filled(made, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}
