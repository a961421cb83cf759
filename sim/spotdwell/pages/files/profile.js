// Profile: the beam's irradiance above a section, at the section's scale across, with its own scale up.

const SKY = { share: 0.26, least: 88, most: 128 }; // Of a drawing's height above the surface [px].
const FOOT = 30; // Between the surface and the irradiance of zero: the diameter stands here [px].
const HEAD = 25; // Above the highest irradiance: its unit and figures stand here [px].
const BESIDE = 1.25; // Radii of the beam that a drawing holds at least.
const LETTER = 8; // Width of a letter, at most [px].
const BESIDE_TITLE = 26; // What the title of the depths takes of the drawing [px].

const skyOf = (size) => Math.round(Math.min(Math.max(SKY.share * size.height, SKY.least), SKY.most));
const peakOf = (beam) => beam.mean * beam.peak;
const roomOf = (beam) => (beam.even ? 0 : (BESIDE * beam.diameter) / 2);
const levelOf = (view) => (irradiance) => view.top - FOOT - ((view.top - FOOT - HEAD) * irradiance) / view.irradiance;

// A length in three digits without idle zeros, such as 1 mm.
const roundedLength = (length) => plainLength(Number(length.toPrecision(3)));

// What the diameter is, such as "1/e² 600 µm".
function acrossText(beam) {
  const across = roundedLength(beam.diameter);
  if (beam.hole) return `${across}, hole ${roundedLength(beam.diameter * beam.hole)}`;
  return `${beam.edges ? "edge to edge" : "1/e²"} ${across}`;
}

const figureOf = (irradiance) => `${significant(irradiance)} W/mm²`;

// The beam in one sentence, for those who hear the page.
function beamInWords(beam) {
  if (beam.even) return `beam: even over the whole width, ${figureOf(beam.mean)}`;
  const kind = `${beam.scanned ? "moving " : ""}beam: ${beam.profile}, ${acrossText(beam)}`;
  const mean = `${figureOf(beam.mean)} on average inside it`;
  if (peakOf(beam) < 1.005 * beam.mean) return `${kind}, ${figureOf(beam.mean)} everywhere inside it`;
  const where = beam.hole ? "on the ring" : "on the axis, the highest";
  const rest = beam.within < 0.9995 ? `, which holds ${significant(100 * beam.within)} % of the power` : "";
  return `${kind}${rest}; ${figureOf(peakOf(beam))} ${where}, ${mean}`;
}

// Places on the drawing of the curve, from side to side.
function curveOf(view, beam) {
  const level = levelOf(view);
  const radius = beam.diameter / 2;
  const dots = beam.even ? [[0, 1], [view.half / radius, 1]] : [...beam.curve, [Math.max(view.half / radius, beam.curve.at(-1)[0]), 0]];
  const right = dots.map(([at, share]) => [view.x(at * radius), level(share * peakOf(beam))]);
  return [...right.slice(1).reverse().map(([x, y]) => [2 * view.middle - x, y]), ...right];
}

function profile(view, beam) {
  const [foot, look] = [levelOf(view)(0), { stroke: map.inks.beam, fill: "none" }];
  const dots = curveOf(view, beam);
  const shapes = [
    drawn("path", { d: `${path(dots)}V${foot}H${dots[0][0]}Z`, fill: map.inks.beam, "fill-opacity": 0.16, class: "profile" }),
    drawn("path", { d: path(dots), ...look, "stroke-width": 1.6 }),
    drawn("path", { d: `M${view.left},${foot}h${view.width}`, stroke: map.inks.faint, "stroke-width": 0.8 }),
  ];
  return beam.even ? [...shapes, spanText(view, "even beam")] : [...shapes, ...meanLine(view, beam), ...span(view, beam)];
}

// In the middle, or at the right where it would run into the title of the depths.
function spanText(view, text) {
  const isWide = view.middle - LETTER * text.length / 2 < view.left + BESIDE_TITLE;
  const place = isWide ? { x: view.left + view.width, "text-anchor": "end" } : { x: view.middle, "text-anchor": "middle" };
  return drawn("text", { ...place, y: view.top - 5, class: "over", fill: map.inks.beam }, text);
}

// The mean inside the diameter, where it is not the highest.
function meanLine(view, beam) {
  if (peakOf(beam) < 1.005 * beam.mean) return [];
  const half = (beam.diameter / 2) * view.scale;
  const y = levelOf(view)(beam.mean);
  return [drawn("path", { d: `M${view.middle - half},${y}h${2 * half}`, stroke: map.inks.ink, "stroke-width": 1, "stroke-dasharray": "5 3", class: "mean" })];
}

// The diameter as a measure under the curve, with lines up to the curve and down to the surface at its ends.
function span(view, beam) {
  const half = (beam.diameter / 2) * view.scale;
  const [foot, level] = [levelOf(view)(0), levelOf(view)];
  const last = beam.curve.filter(([at]) => at <= 1).at(-1)[1];
  const ends = [-half, half].map((side) => view.middle + side);
  const lines = ends.map((x) => `M${x},${level(last * peakOf(beam))}V${view.top}`).join("");
  const bar = `M${ends[0]},${foot + 7}H${ends[1]}`;
  const tips = ends.map((x, place) => `M${x + (place ? -5 : 5)},${foot + 4}L${x},${foot + 7}l${place ? -5 : 5},3`).join("");
  return [
    drawn("path", { d: lines, stroke: map.inks.beam, "stroke-width": 1, "stroke-dasharray": "2 2" }),
    drawn("path", { d: `${bar}${tips}`, stroke: map.inks.beam, "stroke-width": 1.2, fill: "none", class: "diameter" }),
    spanText(view, acrossText(beam)),
  ];
}

// Scale of the irradiance at the left, and its figures at the right.
function irradianceAxis(view, beam) {
  const level = levelOf(view);
  const round = roundLength(view.irradiance);
  const ticks = [0, round].flatMap((irradiance) => {
    const text = `${Number(irradiance.toPrecision(6))}`;
    return [drawn("path", { d: `M${view.left - 5},${level(irradiance)}h5`, stroke: map.inks.ink }),
      drawn("text", { x: view.left - 8, y: level(irradiance) + 4, "text-anchor": "end", class: "irradiance" }, text)];
  });
  const isFlat = peakOf(beam) < 1.005 * beam.mean;
  const figures = isFlat ? `even ${significant(beam.mean)}` : `peak ${significant(peakOf(beam))}, - - mean ${significant(beam.mean)}`;
  return [
    drawn("path", { d: `M${view.left},${level(0)}V${level(view.irradiance)}`, stroke: map.inks.ink }), ...ticks,
    drawn("text", { x: 2, y: 13 }, "W/mm²"),
    drawn("text", { x: view.left + view.width, y: 13, "text-anchor": "end", fill: map.inks.beam }, figures)];
}
