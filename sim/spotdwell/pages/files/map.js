// Map: the verdict at each setting as a cell with a letter and a tone; a click or the arrow keys choose one.

const across_ = map.roles.across;
const up_ = map.roles.up;
const NARROWEST = 15; // Of a cell [px].
const WIDEST = 34;

// Black or white, whichever is told apart better from a tone.
function inkOn(colour) {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const value = parseInt(colour.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue > 0.18 ? "#000000" : "#ffffff";
}

function addMap(pick) {
  const columns = map.axes[across_].values.length;
  const rows = up_ === null ? 1 : map.axes[up_].values.length;
  const cells = byId("cells");
  const body = element("tbody");
  for (let row = rows - 1; row >= 0; row -= 1) {
    const line = element("tr", { role: "row" }, element("th", { scope: "row" }, up_ === null ? "" : map.axes[up_].texts[row]));
    for (let column = 0; column < columns; column += 1) {
      const button = element("button", { type: "button", tabindex: -1, "data-row": row, "data-column": column });
      line.append(element("td", { role: "gridcell" }, button));
    }
    body.append(line);
  }
  cells.style.setProperty("--columns", columns);
  cells.append(headOf(rows, columns), body, footOf(columns));
  cells.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button) pick(Number(button.dataset.column), Number(button.dataset.row), false);
  });
  cells.addEventListener("keydown", (event) => stepped(event, columns, rows, pick));
}

function headOf(rows, columns) {
  const name = up_ === null ? "" : axisTitle(up_);
  return element("thead", {}, element("tr", {}, element("td", { colspan: columns + 1, class: "axis-name" }, rows > 1 ? name : "")));
}

function footOf(columns) {
  const texts = map.axes[across_].texts;
  const each = Math.ceil(columns / 7);
  const marks = texts.map((text, place) => element("td", {}, element("span", {}, place % each ? "" : text)));
  return element("tfoot", {}, element("tr", {}, element("td"), ...marks),
    element("tr", {}, element("td"), element("td", { colspan: columns, class: "axis-name" }, axisTitle(across_))));
}

function axisTitle(axis) {
  const { label, unit } = map.axes[axis];
  return unit ? `${label} [${unit}]` : label;
}

// Arrow keys, Home and End go from cell to cell.
function stepped(event, columns, rows, pick) {
  const button = event.target.closest("button");
  const moves = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1],
    Home: [-columns, 0], End: [columns, 0] };
  const move = moves[event.key];
  if (!button || !move) return;
  event.preventDefault();
  const within = (place, count) => Math.min(Math.max(place, 0), count - 1);
  pick(within(Number(button.dataset.column) + move[0], columns), within(Number(button.dataset.row) + move[1], rows), true);
}

// Paint the slice of the map that holds the active setting, and mark the shown settings in it.
function showMap(names, settings, active) {
  const here = settings[active];
  for (const button of byId("cells").querySelectorAll("button")) {
    const places = withCell(here, Number(button.dataset.column), Number(button.dataset.row));
    const point = pointAt(places);
    const word = wordAt(point);
    const marks = names.filter((name) => settings[name].every((place, axis) => place === places[axis]));
    button.textContent = marks.length ? marks.join("") : word.letter;
    button.style.background = marks.length ? "" : word.colour;
    button.style.color = marks.length ? "" : inkOn(word.colour);
    button.className = marks.length ? "marked" : "";
    button.tabIndex = marks.includes(active) ? 0 : -1;
    const label = `${settingText(places)}: ${judgedAt(point)}`;
    button.setAttribute("aria-label", marks.length ? `${label}; setting ${marks.join(" and ")}` : label);
    button.title = label;
  }
  showSlice(names, settings, active);
}

function withCell(places, column, row) {
  const moved = [...places];
  moved[across_] = column;
  if (up_ !== null) moved[up_] = row;
  return moved;
}

function showSlice(names, settings, active) {
  const others = map.axes.map((_, axis) => axis).filter((axis) => axis !== across_ && axis !== up_);
  const fixed = others.map((axis) => axisText(axis, settings[active][axis])).join(", ");
  const elsewhere = names.filter((name) => others.some((axis) => settings[name][axis] !== settings[active][axis]));
  const texts = [fixed ? `Shown for ${fixed}.` : "", ...elsewhere.map((name) => `${name} lies in another slice of the map.`),
    "Choose a cell to set the sliders."];
  byId("map-slice").textContent = texts.filter((text) => text).join(" ");
}

function showLetters() {
  const present = map.words.filter((_, number) => map.word.includes(number));
  byId("letters").replaceChildren(...present.map((word) => element("li", {},
    element("span", { class: "letter", style: `background:${word.colour};color:${inkOn(word.colour)}` }, word.letter), word.meaning)));
}

// Cells as large as the room allows.
function fitMap() {
  const columns = map.axes[across_].values.length;
  const holder = byId("cells").parentElement;
  const labels = byId("cells").querySelector("th").offsetWidth;
  const room = Math.floor((holder.clientWidth - labels - 6) / columns);
  byId("cells").style.setProperty("--cell", `${Math.min(Math.max(room, NARROWEST), WIDEST)}px`);
}
