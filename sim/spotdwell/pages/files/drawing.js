// Drawing: outlines of one setting in section, at equal scales across and down, with a depth axis and a bar. Above it
// stands what `profile.js` draws of the beam.

const ZONES = [["coagulated", 3], ["dried", 2], ["charred", 1]];
const STEPS = [1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10];
const MARGIN = { left: 48, right: 10, top: 24, bottom: 10 };
const DEEPEST = 5.2; // Depth of a drawing over its half width: beyond it the crater is cut off, and says so.

// From low to high, with a unit that both have once.
function rangeText(low, high) {
  const [number, ...unit] = low.split(/\s/);
  return high.split(/\s/).slice(1).join(" ") === unit.join(" ") ? `${number}–${high}` : `${low} – ${high}`;
}

// The next larger round number, so that a drawing keeps its scale while a slider moves a little.
function roundedUp(number) {
  const decade = 10 ** Math.floor(Math.log10(number));
  return decade * STEPS.find((step) => step * decade >= number * (1 - 1e-9));
}

// Half width and depth in um that hold these points, and the irradiance in W/mm² that holds their beams'.
function frameOf(points) {
  const all = points.map(outlinesAt).filter((one) => one !== null);
  const beams = points.map((point) => beamAt(placesOf(point))).filter((one) => one !== null);
  const irradiance = roundedUp(Math.max(...beams.map(peakOf), 1e-9));
  if (all.length === 0) return { half: 500, depth: 500, irradiance };
  const half = roundedUp(Math.max(...all.map((one) => one.reach), ...beams.map(roomOf), 1));
  const depth = Math.max(...all.map((one) => one.deepest)) * 1.1;
  return { half, depth: Math.min(Math.max(roundedUp(Math.max(depth, 1)), 0.4 * half), DEEPEST * half), irradiance };
}

let frameOfMap = null;
function frameOfAll() {
  if (frameOfMap === null) {
    const points = map.word.map((_, point) => point);
    const usual = points.filter(isUsual);
    frameOfMap = frameOf(usual.length ? usual : points.filter(isSolved));
  }
  return frameOfMap;
}

// Patterns of the zones, once in the page; a drawing names them.
function addPatterns() {
  const ink = "#4a2c1a";
  const kinds = {
    "..": [drawn("circle", { cx: 3, cy: 3, r: 1, fill: ink }), drawn("circle", { cx: 8, cy: 8, r: 1, fill: ink })],
    "////": [drawn("path", { d: "M-2,2 L2,-2 M0,10 L10,0 M8,12 L12,8", stroke: "#e8cdb4", "stroke-width": 1.1 })],
    "--": [drawn("path", { d: "M0,3 H6 M5,8 H10", stroke: ink, "stroke-width": 0.8 })],
  };
  const patterns = Object.entries(map.tones).filter(([, tone]) => kinds[tone.hatch]).map(([name, tone]) =>
    drawn("pattern", { id: `pattern-${name}`, width: 10, height: 10, patternUnits: "userSpaceOnUse" },
      ...kinds[tone.hatch]));
  const holder = drawn("svg", { class: "unseen", "aria-hidden": "true" }, drawn("defs", {}, ...patterns));
  document.body.append(holder);
}

// A shape in the tone of a zone, with its pattern over it.
function painted(tag, attributes, zone) {
  const tone = map.tones[zone];
  const shapes = [drawn(tag, { ...attributes, fill: tone.colour, "data-zone": zone })];
  if (tone.hatch) shapes.push(drawn(tag, { ...attributes, fill: `url(#pattern-${zone})` }));
  return shapes;
}

function draw(name, places, frame, isOneOfTwo, paper) {
  const figure = byId(`figure-${name}`);
  const svg = figure.querySelector("svg");
  const point = pointAt(places);
  const outlines = isSolved(point) ? outlinesAt(point) : null;
  const nothing = figure.querySelector(".nothing");
  figure.querySelector("figcaption").textContent = `${isOneOfTwo ? `${name}: ` : ""}${settingText(places)}`;
  nothing.hidden = outlines !== null;
  svg.style.display = outlines === null ? "none" : "";
  if (outlines === null) {
    nothing.textContent = `${wordAt(point).meaning[0].toUpperCase()}${wordAt(point).meaning.slice(1)}. ` +
      (isSolved(point) ? "No outline was kept for this setting; the figures hold." : map.reasons[point]);
    return;
  }
  const size = paper ?? { width: svg.clientWidth, height: svg.clientHeight };
  if (size.width < 100 || (!paper && window.matchMedia("print").matches)) return; // Paper keeps the drawing made for it.
  const lit = beamAt(places);
  const view = viewOf(frame, size, lit !== null);
  svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
  svg.setAttribute("aria-label", `Cross-section, ${settingText(places)}: ${told(point)}${lit ? `. Above it the ${beamInWords(lit)}` : ""}`);
  svg.dataset.scale = view.scale;
  svg.replaceChildren(
    drawn("clipPath", { id: `clip-${name}` }, drawn("rect", { x: view.left, y: 0, width: view.width, height: view.top + view.height })),
    drawn("g", { "clip-path": `url(#clip-${name})` },
      ...ground(view), ...zones(view, outlines), ...(lit ? profile(view, lit) : [])),
    ...(lit ? irradianceAxis(view, lit) : []),
    ...cutOff(view, outlines), ...depthAxis(view), ...scaleBar(view), ...sign(view, isOneOfTwo ? name : ""));
}

function viewOf(frame, size, isLit) {
  const top = isLit ? skyOf(size) : MARGIN.top;
  const width = size.width - MARGIN.left - MARGIN.right;
  const height = size.height - top - MARGIN.bottom;
  const scale = Math.min(width / (2 * frame.half), height / frame.depth);
  const middle = MARGIN.left + width / 2;
  return { ...MARGIN, top, width, height, scale, middle, depth: height / scale, half: width / 2 / scale,
    irradiance: frame.irradiance, x: (radius) => middle + radius * scale, y: (depth) => top + depth * scale };
}

function ground(view) {
  const bottom = map.closed ? map.layers[map.layers.length - 1] * view.scale : Infinity;
  const height = Math.min(view.height, bottom);
  return painted("rect", { x: view.left, y: view.top, width: view.width, height }, "untouched");
}

// Points of an outline from side to side, joined to the drawing's edges at the depth of its ends.
function across(view, outlines, zone) {
  const depths = outlines.depths[zone];
  const right = outlines.radius.map((radius, place) => [view.x(radius), view.y(depths[place])]);
  const left = right.slice(1).reverse().map(([x, y]) => [2 * view.middle - x, y]);
  const end = view.y(depths[PLACES - 1]);
  return [[view.left, end], ...left, ...right, [view.left + view.width, end]];
}

const path = (points) => `M${points.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join("L")}`;

function zones(view, outlines) {
  const right = view.left + view.width;
  const closed = (zone) => `${path(across(view, outlines, zone))}L${right},${view.top}L${view.left},${view.top}Z`;
  const edge = { fill: "none", stroke: map.inks.ink, "stroke-width": 0.7 };
  const shapes = ZONES.flatMap(([name, zone]) => [
    ...painted("path", { d: closed(zone) }, name),
    drawn("path", { d: edgeLine(view, outlines, zone), ...edge })]);
  return [
    ...shapes,
    ...layerLines(view),
    ...painted("path", { d: closed(0) }, "air"),
    drawn("path", { d: `M${view.left},${view.top}H${right}`, stroke: map.inks.faint, "stroke-dasharray": "5 4" }),
    drawn("path", { d: edgeLine(view, outlines, 0), ...edge, stroke: map.inks.edge, "stroke-width": 1 }),
  ];
}

// The line of an outline; none where the target is cut through.
function edgeLine(view, outlines, zone) {
  const bottom = map.closed ? view.y(map.layers[map.layers.length - 1] - outlines.step / 2) : Infinity;
  const pieces = [[]];
  for (const [x, y] of across(view, outlines, zone)) {
    if (y < bottom) pieces[pieces.length - 1].push([x, y]);
    else if (pieces[pieces.length - 1].length) pieces.push([]);
  }
  return pieces.filter((piece) => piece.length > 1).map(path).join("");
}

// Where layers of the target meet.
function layerLines(view) {
  return map.layers.filter((depth) => depth < view.depth).map((depth) =>
    drawn("path", { d: `M${view.left},${view.y(depth)}h${view.width}`, stroke: map.inks.ink, "stroke-dasharray": "2 3", "stroke-width": 1 }));
}

// A torn lower edge where the zones go on below the drawing.
function cutOff(view, outlines) {
  if (outlines.deepest <= view.depth * 1.001) return [];
  const y = view.top + view.height;
  const teeth = Array.from({ length: 21 }, (_, tooth) =>
    [view.left + (view.width * tooth) / 20, y - (tooth % 2 ? 10 : 2)]);
  const whole = [...teeth, [view.left + view.width, y + 4], [view.left, y + 4]];
  const crater = Math.max(...outlines.depths[0]);
  const lines = crater > view.depth ? ["cut off: the crater", `is ${lengthText(crater)} deep`] : ["cut off here"];
  return [drawn("path", { d: `${path(whole)}Z`, fill: "#ffffff" }),
    drawn("path", { d: path(teeth), fill: "none", stroke: map.inks.ink }),
    ...lines.map((line, number) =>
      drawn("text", { x: view.middle, y: y - 60 + 18 * number, "text-anchor": "middle", class: "over" }, line))];
}

// The longest of 1, 2, 5, 10 ... that fits into a length.
function roundLength(room) {
  const decade = 10 ** Math.floor(Math.log10(room));
  return decade * Math.max(...[1, 2, 5].filter((step) => step * decade <= room * (1 + 1e-9)));
}

function depthAxis(view) {
  const step = roundLength(view.depth / 2.5);
  const inMillimetres = view.depth >= 1500;
  const ticks = [];
  for (let depth = 0; depth <= view.depth * 1.0001; depth += step) {
    const y = view.y(depth);
    const text = `${Number((inMillimetres ? depth / 1000 : depth).toPrecision(6))}`;
    ticks.push(drawn("path", { d: `M${view.left - 5},${y}h5`, stroke: map.inks.ink }),
      drawn("text", { x: view.left - 8, y: y + 4, "text-anchor": "end" }, text));
  }
  const unit = inMillimetres ? "mm" : "µm";
  return [drawn("path", { d: `M${view.left},${view.top}v${view.height}`, stroke: map.inks.ink }), ...ticks,
    drawn("text", { x: 2, y: view.top - 9 }, `depth [${unit}]`)];
}

function scaleBar(view) {
  const length = roundLength((0.25 * view.width) / view.scale);
  const end = view.left + view.width - 10;
  const y = view.top + view.height - 12;
  const start = end - length * view.scale;
  const text = drawn("text", { x: (start + end) / 2, y: y - 7, "text-anchor": "middle", class: "over" }, plainLength(length));
  const bar = `M${start},${y}H${end}`;
  return [drawn("path", { d: bar, stroke: "#ffffff", "stroke-width": 8 }),
    drawn("path", { d: bar, stroke: map.inks.ink, "stroke-width": 3, class: "bar" }), text];
}

function sign(view, name) {
  return name ? [drawn("text", { x: view.left + view.width - 16, y: view.top + 26, class: "sign" }, name)] : [];
}

function showKey() {
  const entries = [["air", "removed"], ["charred", "charred"], ["dried", "dried"], ["coagulated", "coagulated"],
    ["untouched", "untouched"]];
  byId("key").replaceChildren(...entries.map(([zone, text]) => element("li", {},
    drawn("svg", { class: "swatch", viewBox: "0 0 30 16", "aria-hidden": "true" },
      ...painted("rect", { x: 0.5, y: 0.5, width: 29, height: 15, stroke: map.inks.ink }, zone)), text)));
}
