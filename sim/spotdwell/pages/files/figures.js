// Figures: verdict with its reasons, the table of measures, and what differs between two settings, in words.

// A setting's result in one sentence.
function told(point) {
  if (!isSolved(point)) return wordAt(point).meaning;
  const depth = figureAt("deepest", point);
  return depth ? `${wordAt(point).meaning}, crater ${lengthText(depth)} deep` : `${wordAt(point).meaning}, nothing removed`;
}

const SPOKEN = ["crater_depth", "crater_width", "char_thickness_floor", "coagulation_thickness_floor", "peak_temperature"];

// What a screen reader says after a change: the verdict and the main figures of the setting that changed.
function speak(name, places, isOneOfTwo) {
  const point = pointAt(places);
  const shown = map.figures.filter((figure) => SPOKEN.includes(figure.name) && figureAt(figure.name, point) !== null);
  const texts = shown.map((figure) => `${figure.label} ${shownFigure(figure, figureAt(figure.name, point))}`);
  const text = [`${isOneOfTwo ? `${name}: ` : ""}${judgedAt(point)}`, ...texts].join("; ");
  if (byId("spoken").textContent !== text) byId("spoken").textContent = text;
}

function showVerdicts(names, settings) {
  byId("verdicts").replaceChildren(...names.map((name) => {
    const point = pointAt(settings[name]);
    const word = wordAt(point);
    const lead = names.length > 1 ? [element("b", {}, `${name}: `)] : [];
    const mark = element("span", { class: "letter", style: `background:${word.colour};color:${inkOn(word.colour)}` }, word.letter);
    return element("div", { class: "verdict", id: `verdict-${name}` },
      element("p", { class: "word" }, ...lead, mark, ` ${judgedAt(point)}`),
      element("p", { class: "small" }, map.reasons[point]));
  }));
}

function showTable(names, settings) {
  const points = names.map((name) => pointAt(settings[name]));
  const two = names.length > 1;
  const spans = !two && map.intervals;
  byId("table").tHead.replaceChildren(element("tr", {},
    element("th", { scope: "col" }, "Figure"),
    ...names.map((name) => element("th", { scope: "col" }, two ? name : "Value")),
    ...(spans ? [element("th", { scope: "col" }, map.interval_words)] : []),
    ...(two ? [element("th", { scope: "col", class: "less" }, "B less A")] : [])));
  byId("table").tBodies[0].replaceChildren(...map.figures.map((figure) => {
    const values = points.map((point) => figureAt(figure.name, point));
    const cells = values.map((value, place) => figureCell(figure, value, names[place], points[place]));
    if (spans) cells.push(element("td", { class: "interval" }, intervalText(figure, points[0]) ?? "–"));
    if (two) cells.push(element("td", { class: "less" }, lessText(figure, ...values)));
    return element("tr", { "data-figure": figure.name }, element("th", { scope: "row", title: figure.meaning }, figure.label), ...cells);
  }));
}

function figureCell(figure, value, name, point) {
  const span = intervalText(figure, point);
  const cell = element("td", { "data-set": name, title: span && `${map.interval_words}: ${span}` }, shownFigure(figure, value));
  if (value === null) cell.setAttribute("aria-label", "does not apply");
  return cell;
}

// The difference of two values as they are shown, so that anybody can check it.
function lessText(figure, a, b) {
  if (a === null || b === null) return "–";
  const less = differenceOf(a, b);
  return `${less > 0 ? "+" : less < 0 ? "−" : ""}${differenceText(figure, less)}`;
}

function differenceOf(a, b) {
  const [first, second] = [a, b].map((value) => Number(value.toPrecision(3)));
  return Number((second - first).toPrecision(6));
}

function differenceText(figure, less) {
  const size = Math.abs(less);
  return figure.unit === "µm" ? plainLength(size) : `${Number(size.toPrecision(4))} ${figure.unit}`;
}

function showDifferences(settings) {
  const places = NAMES.map((name) => settings[name]);
  const [a, b] = places.map(pointAt);
  const heading = element("h3", {}, "B against A");
  const lines = [inputSentence(...places)];
  if (!isSolved(a) || !isSolved(b)) lines.push("There is nothing to compare: one of them has no result.");
  else lines.push(...outcomeSentences(a, b), map.cells);
  byId("differences").replaceChildren(heading, element("ul", {}, ...lines.map((line) => element("li", {}, line))));
}

function inputSentence(a, b) {
  const other = map.axes.map((_, axis) => axis).filter((axis) => a[axis] !== b[axis]);
  if (other.length === 0) return "A and B are the same setting.";
  const texts = other.map((axis) => `${axisText(axis, b[axis])} in place of ${valueText(axis, a[axis])}`);
  return `B has ${texts.join(" and ")}.`;
}

function valueText(axis, place) {
  const { unit, texts } = map.axes[axis];
  return `${texts[place]}${unit ? ` ${unit}` : ""}`;
}

function outcomeSentences(a, b) {
  const same = wordAt(a).word === wordAt(b).word;
  const lines = [same ? `Both are ${wordAt(a).meaning}.` : `B is ${wordAt(b).meaning}, A is ${wordAt(a).meaning}.`];
  const wordings = {
    crater_depth: (text, more) => `B cuts ${text} ${more ? "deeper" : "less deep"}.`,
    crater_width: (text, more) => `The crater of B is ${text} ${more ? "wider" : "narrower"}.`,
    char_thickness_floor: (text, more) => `Under the floor B leaves ${text} ${more ? "more" : "less"} char.`,
    coagulation_thickness_floor: (text, more) => `Under the floor B coagulates ${text} ${more ? "more" : "less"}.`,
    incident_energy: (text, more) => `B sends ${text} ${more ? "more" : "less"}.`,
    energy_per_removed_volume: (text, more) => `To remove a volume B needs ${text} ${more ? "more" : "less"}.`,
    peak_temperature: (text, more) => `B gets ${text} ${more ? "hotter" : "less hot"}.`,
  };
  const alike = [];
  for (const figure of map.figures.filter((one) => wordings[one.name])) {
    const [low, high] = [figureAt(figure.name, a), figureAt(figure.name, b)];
    if (low === null || high === null) continue;
    const less = differenceOf(low, high);
    if (less === 0) alike.push(figure.label.toLowerCase());
    else lines.push(wordings[figure.name](differenceText(figure, less), less > 0));
  }
  if (alike.length) lines.push(`The same to three digits: ${alike.join(", ")}.`);
  return lines;
}
