// Page: what is shown now, and what happens when somebody changes it.

const settings = { A: startOf(0), B: startOf(1) };
const now = { two: false, questions: false, active: "A", scale: "shown" };

// A solved setting near the middle of the map; B is the one farthest along the second axis from A's.
function startOf(which) {
  const middle = map.axes.map((axis) => Math.floor((axis.values.length - 1) / 2));
  if (which === 1) {
    const axis = map.axes.length - 1;
    middle[axis] = Math.min(middle[axis] + Math.ceil(map.axes[axis].values.length / 4), map.axes[axis].values.length - 1);
  }
  const distance = (places) => places.reduce((sum, place, axis) => sum + Math.abs(place - middle[axis]), 0);
  let best = null;
  map.word.forEach((_, point) => {
    if (!isSolved(point)) return;
    const places = placesOf(point);
    if (best === null || distance(places) < distance(best)) best = places;
  });
  return best;
}

function placesOf(point) {
  const places = [];
  let rest = point;
  for (let axis = map.axes.length - 1; axis >= 0; axis -= 1) {
    const size = map.axes[axis].values.length;
    places.unshift(rest % size);
    rest = Math.floor(rest / size);
  }
  return places;
}

// What is shown, in the address: a copied address opens the same.
function keep() {
  const parts = [`A=${settings.A.join(",")}`];
  if (now.two) parts.push(`B=${settings.B.join(",")}`);
  if (now.questions) parts.push("questions");
  if (now.scale === "map") parts.push("same-scale");
  try {
    history.replaceState(null, "", `#${parts.join("&")}`);
  } catch {
    // A browser that lets no file change its address: then it is not kept.
  }
}

function recall() {
  const parts = location.hash.slice(1).split("&");
  NAMES.forEach((name) => {
    const part = parts.find((one) => one.startsWith(`${name}=`));
    if (!part) return;
    const places = part.slice(2).split(",").map(Number);
    const fits = places.length === map.axes.length
      && places.every((place, axis) => Number.isInteger(place) && place >= 0 && place < map.axes[axis].values.length);
    if (!fits) return;
    settings[name] = places;
    if (name === "B") now.two = true;
  });
  now.questions = parts.includes("questions");
  now.scale = parts.includes("same-scale") ? "map" : "shown";
}

function show() {
  const names = now.two ? NAMES : ["A"];
  document.body.classList.toggle("two", now.two);
  byId("set-B").hidden = byId("figure-B").hidden = byId("differences").hidden = byId("map-sets").hidden = !now.two;
  byId("questions").hidden = !now.questions;
  byId("two").setAttribute("aria-pressed", String(now.two));
  byId("ask").setAttribute("aria-pressed", String(now.questions));
  byId("scale").value = now.scale;
  document.querySelector(`[name=active][value=${now.active}]`).checked = true;
  names.forEach((name) => showControls(name, settings[name]));
  showDrawings();
  showVerdicts(names, settings);
  showTable(names, settings);
  if (now.two) showDifferences(settings);
  showMap(names, settings, now.active);
  speak(now.active, settings[now.active], now.two);
  keep();
}

// Sizes of a drawing on paper [px], as the style for print lays them out, so that letters are not shrunk there.
const PAPER = { one: { width: 480, height: 287 }, two: { width: 236, height: 249 } };

function showDrawings(paper) {
  const names = now.two ? NAMES : ["A"];
  const points = names.map((name) => pointAt(settings[name])).filter(isSolved);
  const frame = now.scale === "map" ? frameOfAll() : frameOf(points);
  names.forEach((name) => draw(name, settings[name], frame, now.two, paper));
}

function choose(name, axis, place) {
  settings[name][axis] = place;
  now.active = name;
  show();
}

function pick(column, row, keepFocus) {
  settings[now.active] = withCell(settings[now.active], column, row);
  show();
  if (keepFocus) byId("cells").querySelector(`[data-row="${row}"][data-column="${column}"]`).focus();
}

function setBoth(a, b) {
  settings.A = [...a];
  settings.B = [...b];
  now.two = true;
  show();
  byId("drawings").scrollIntoView({ block: "nearest" });
}

function showAbout() {
  byId("covers").hidden = !map.covers;
  byId("covers").textContent = map.covers ? `${map.covers} Side by side, point at a figure for its interval.` : "";
  byId("setting").textContent = map.setting.map(([name, text]) => `${name} ${text}`).join(" · ");
  byId("lines").append(...map.about.lines.map((line) => element("li", {}, line)));
  byId("warnings").hidden = map.warnings.length === 0;
  byId("warnings").append(...map.warnings.map((line) => element("p", {}, line)));
  byId("materials").hidden = map.about.materials.length === 0;
  const holder = byId("materials").querySelector("div");
  holder.append(...map.about.materials.map(({ title, rows }) => element("table", { class: "sources" },
    element("caption", {}, title),
    element("tr", {}, ...["value of", "value", "basis", "source"].map((text) => element("th", { scope: "col" }, text))),
    ...rows.map((row) => element("tr", {}, ...row.map((text) => element("td", {}, text)))))));
}

function start() {
  addPatterns();
  recall();
  showAbout();
  showKey();
  showLetters();
  NAMES.forEach((name) => addControls(name, choose));
  addMap(pick);
  addQuestions(setBoth);
  byId("two").addEventListener("click", () => { now.two = !now.two; now.active = "A"; show(); fitMap(); });
  byId("ask").addEventListener("click", () => { now.questions = !now.questions; show(); });
  byId("scale").addEventListener("change", (event) => { now.scale = event.target.value; show(); });
  window.addEventListener("beforeprint", () => showDrawings(now.two ? PAPER.two : PAPER.one));
  // For browsers that print a copy: there the page changes no size, so the observer below does not draw anew.
  window.addEventListener("afterprint", () => showDrawings());
  byId("print").addEventListener("click", () => window.print());
  document.querySelectorAll("[name=active]").forEach((radio) =>
    radio.addEventListener("change", () => { now.active = radio.value; show(); }));
  show();
  fitMap();
  new ResizeObserver(() => { fitMap(); showDrawings(); }).observe(document.querySelector("main"));
}

start();
