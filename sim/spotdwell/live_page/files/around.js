// Around: verdicts and depths of the neighbours of a setting, filling in from the middle; a click goes there.
"use strict";

let around = null;

function mapAround() {
  const [across, up] = byId("pair").value.split(" ");
  around = { base: settingsNow(), names: [], values: [], count: 0 };
  leaveSearch();
  isSearching("map", true);
  ask("search", "map", around.base, { across, up }, hearMap);
}

function hearMap({ kind, found }) {
  const state = byId("map-state");
  if (kind === "starting") state.textContent = "Starting …";
  else if (kind === "axes") layMap(found);
  else if (kind === "point") fillPoint(found);
  else if (kind === "wrong") state.textContent = found.map((one) => `Expected ${one.expected}, got ${one.got}. ${one.advice}`).join(" ");
  else if (kind === "failed") state.textContent = found;
  else if (kind === "superseded") state.textContent = "Stopped.";
  if (["done", "wrong", "failed", "superseded"].includes(kind)) isSearching("map", false);
}

function layMap({ names, values }) {
  Object.assign(around, { names, values, cells: {} });
  const labels = names.map((name) => knobs[name].label);
  const rows = values[1].map((up, j) => element("tr", {}, element("th", { scope: "row" }, typeset(up)),
    ...values[0].map((_, i) => element("td", {}, cell(i, j))))).reverse();
  const head = element("tr", {}, element("td", { class: "axis-name" }, `${labels[1]} ↑  ${labels[0]} →`),
    ...values[0].map((one) => element("th", { scope: "col" }, typeset(one))));
  const table = element("table", { id: "cells", "aria-label": `Verdict and depth over ${labels[0]} and ${labels[1]}` },
    element("thead", {}, head), element("tbody", {}, ...rows));
  table.addEventListener("keydown", walk);
  const place = byId("map-place");
  place.replaceChildren(table);
  // On a narrow screen the middle is seen first.
  place.scrollLeft = (place.scrollWidth - place.clientWidth) / 2;
  byId("letters").hidden = false;
  markHere();
}

function cell(i, j) {
  const made = button("·", () => goTo(settingsAt(i, j)));
  const middle = (around.values[0].length - 1) / 2;
  Object.assign(made.dataset, { i, j });
  made.tabIndex = i === middle && j === middle ? 0 : -1;
  made.setAttribute("aria-label", `${placeText(i, j)}: not computed yet`);
  around.cells[`${i} ${j}`] = made;
  return made;
}

const placeText = (i, j) => [i, j].map((at, axis) => `${knobs[around.names[axis]].label.toLowerCase()} ${typeset(around.values[axis][at])}`).join(", ");
const settingsAt = (i, j) => ({ ...around.base, [around.names[0]]: around.values[0][i], [around.names[1]]: around.values[1][j] });

function fillPoint({ place: [i, j], word, depth }) {
  const made = around.cells[`${i} ${j}`];
  const verdict = verdicts[word];
  made.replaceChildren(element("b", {}, verdict.letter), element("span", {}, word === "failed" ? "" : depth));
  made.style.background = verdict.colour;
  made.style.color = inkOn(verdict.colour);
  made.setAttribute("aria-label", `${placeText(i, j)}: ${word}, depth ${depth}`);
  made.title = `${placeText(i, j)}: ${word}, ${depth}`;
  around.count += 1;
  const all = around.values[0].length * around.values[1].length;
  byId("map-state").textContent = around.count < all ? `${around.count} of ${all} computed` : `All ${all} computed. A click goes there.`;
}

// Mark where the shown shot stands in the map, if it does.
function markHere() {
  if (!around?.cells) return;
  const here = JSON.stringify(sorted(settingsNow()));
  for (const made of Object.values(around.cells)) {
    const is = JSON.stringify(sorted(settingsAt(+made.dataset.i, +made.dataset.j))) === here;
    made.classList.toggle("here", is);
    if (is) made.setAttribute("aria-current", "true");
    else made.removeAttribute("aria-current");
  }
}

const sorted = (settings) => Object.entries(settings).sort(([a], [b]) => a.localeCompare(b));

// Arrow keys walk through the map.
function walk(event) {
  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
  const from = event.target.closest("button");
  if (!steps || !from) return;
  const to = around.cells[`${+from.dataset.i + steps[0]} ${+from.dataset.j + steps[1]}`];
  event.preventDefault();
  if (!to) return;
  from.tabIndex = -1;
  to.tabIndex = 0;
  to.focus();
}

function showLetters() {
  byId("letters").replaceChildren(...Object.values(verdicts).map(({ word, letter, colour }) => {
    const mark = element("span", { class: "letter", "aria-hidden": "true" }, letter);
    mark.style.background = colour;
    mark.style.color = inkOn(colour);
    return element("li", {}, mark, word);
  }));
}
