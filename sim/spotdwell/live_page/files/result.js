// Result: state, verdict, figures and pictures of the shot that is shown.
"use strict";

const STATES = {
  starting: ["Starting", " Kernels are loaded; the very first time they are compiled, for about 20 s."],
  computing: ["Computing", " What is drawn below is the shot before."],
  coarse: ["Rough", " On a coarse grid, cells twice as large; the full one follows when the knobs rest."],
  full: ["Full grid", ""],
  wrong: ["Not computed", " What is drawn below is the shot before."],
  failed: ["Failed", ""],
};
let verdicts = {};
let now = null;

function showState(name, more = "") {
  document.body.dataset.state = name;
  byId("state-word").textContent = STATES[name][0];
  byId("state-more").textContent = more ? ` ${more}` : STATES[name][1];
}

function showShot(shot, settings, isFull) {
  now = { shot, settings, isFull };
  showState(isFull ? "full" : "coarse", isFull ? `${shot.text}; computed in ${significant(shot.seconds)} s. ${textOf(settings)}.` : "");
  const verdict = verdicts[shot.word];
  byId("letter").textContent = verdict.letter;
  byId("letter").style.background = verdict.colour;
  byId("letter").style.color = inkOn(verdict.colour);
  byId("word").textContent = shot.text;
  byId("reason").textContent = shot.why;
  byId("reasons").hidden = shot.reasons.length < 2;
  byId("reasons").lastElementChild.replaceChildren(...shot.reasons.map((one) => element("li", {}, one)));
  showFigures();
  redraw();
  if (isFull) speak(`${shot.text}. ${shot.why}`);
}

// The figures and what is to be known of them. Intervals come after the full shot; their column is there before.
function showFigures() {
  const { rows, notes, intervals } = now.shot;
  const some = intervals ?? true;
  const span = (row) => (row.interval ? rangeText(...row.interval) : intervals ? "–" : "…");
  byId("interval-head").hidden = !some;
  byId("table").tBodies[0].replaceChildren(...rows.map((row) => element("tr", { "data-figure": row.name },
    element("th", { scope: "row", title: row.meaning }, row.label), element("td", {}, row.text),
    ...(some ? [element("td", { class: "interval" }, span(row))] : []))));
  byId("notes").hidden = notes.length === 0;
  byId("notes").lastElementChild.replaceChildren(...notes.map((one) => element("li", {}, one)));
}

function redraw() {
  if (now === null) return;
  drawHistory(now.shot.history);
  drawShots([now], ["now"]);
  drawKept();
}

function speak(text) {
  if (byId("spoken").textContent !== text) byId("spoken").textContent = text;
}

// Black or white, whichever is read better on a colour.
function inkOn(colour) {
  const [r, g, b] = [1, 3, 5].map((at) => (parseInt(colour.slice(at, at + 2), 16) / 255) ** 2.2);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b > 0.18 ? "#000000" : "#ffffff";
}
