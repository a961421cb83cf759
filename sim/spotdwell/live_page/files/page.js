// Page: from a knob to the rough shot, the full one, and back and forward through what was tried.
"use strict";

const PAUSE = 60; // Between shots while a knob moves [ms].
let due = null;
let lastSent = 0;

// A control was turned: the rough shot at once while it moves, the full one when it rests.
function turned(moving) {
  clearTimeout(due);
  complain([]);
  const wait = moving ? Math.max(0, lastSent + PAUSE - performance.now()) : 0;
  if (wait > 0) due = setTimeout(fire, wait, moving);
  else fire(moving);
}

function fire(moving) {
  lastSent = performance.now();
  const settings = settingsNow();
  if (document.body.dataset.state !== "starting" && document.body.dataset.state !== "coarse") showState("computing");
  markHere();
  ask("shot", "shot", settings, moving ? { moving: "yes" } : {}, (finding) => hear(finding, settings));
}

function hear({ kind, found }, settings) {
  if (kind === "starting") showState("starting");
  else if (kind === "coarse") showShot(found, settings, false);
  else if (kind === "full") {
    showShot(found, settings, true);
    remember(settings);
    showWords(settings);
  } else if (kind === "intervals") {
    now.shot = found;
    showFigures();
  } else if (kind === "wrong") {
    showState("wrong");
    complain(found);
  } else if (kind === "failed") showState("failed", found);
  else if (kind === "superseded") showState("failed", "Another window of this page asked for a shot. Turn a knob to go on here.");
}

function goTo(settings) {
  showSettings(settings);
  complain([]);
  turned(false);
}

// What was tried lies in the browser's own history, whose buttons work too.
function remember(settings) {
  const { at = -1, most = -1, tried = null } = history.state ?? {};
  if (JSON.stringify(tried) === JSON.stringify(settings)) return showWay();
  if (tried === null) history.replaceState({ at: 0, most: 0, tried: settings }, "");
  else history.pushState({ at: at + 1, most: at + 1, tried: settings }, "");
  farthest = history.state.at;
  return showWay();
}

let farthest = 0;
function showWay() {
  const at = history.state?.at ?? 0;
  byId("back").disabled = at === 0;
  byId("forward").disabled = at >= farthest;
}

window.addEventListener("popstate", ({ state }) => {
  if (state?.tried) goTo(state.tried);
  showWay();
});

async function begin() {
  const data = await (await fetch("start")).json();
  Object.assign(map, { tones: data.tones, inks: data.inks });
  verdicts = Object.fromEntries(data.verdicts.map((one) => [one.word, one]));
  lasers = data.lasers;
  byId("material").append(...data.materials.map((one) => element("option", { value: one.name }, one.title.replaceAll("_", " "))));
  byId("laser").append(element("option", { value: "" }, "none: set the spot"), ...lasers.map((one) => element("option", { value: one.name }, one.title)));
  byId("laser-line").hidden = lasers.length === 0;
  byId("folder").textContent = data.folder;
  byId("cautions").lastElementChild.append(...data.cautions.map((one) => element("li", {}, one)));
  data.knobs.forEach(addKnob);
  addPatterns();
  showKey();
  showLetters();
  listen();
  farthest = history.state?.most ?? 0;
  showSettings(history.state?.tried ?? data.start);
  turned(false);
}

function listen() {
  whenTurned = turned;
  for (const id of ["material", "dial"]) byId(id).addEventListener("change", () => turned(false));
  byId("laser").addEventListener("change", () => { showDials(); turned(false); });
  for (const part of ["repeat", "carrier"]) byId(`with-${part}`).addEventListener("change", () => { showParts(); turned(false); });
  byId("back").addEventListener("click", () => history.back());
  byId("forward").addEventListener("click", () => history.forward());
  byId("keep").addEventListener("click", keepNow);
  byId("find-form").addEventListener("submit", (event) => { event.preventDefault(); find(); });
  for (const name of ["find", "map"]) byId(`${name}-stop`).addEventListener("click", stopSearch);
  byId("map-go").addEventListener("click", mapAround);
  for (const one of document.querySelectorAll("[data-take]")) one.addEventListener("click", take);
  for (const one of document.querySelectorAll("[data-copy]")) one.addEventListener("click", copy);
  byId("print").addEventListener("click", () => window.print());
  new ResizeObserver(redraw).observe(byId("mark"));
}

begin().catch((error) => { showState("failed", error instanceof TypeError ? GONE : error.message); });
