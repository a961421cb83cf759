// Keep: up to four shots side by side at one scale, with what differs from the one that is shown.
"use strict";

const MOST_KEPT = 4;
const COMPARED = [["crater_depth", "depth"], ["char_thickness_floor", "char at the floor"], ["coagulation_thickness_wall", "coagulation at the wall"]];
const ABSENT = { count: "1", pulse_duration: "steady", spot: "by the laser file" };
let kept = [];

function keepNow() {
  if (!now?.isFull || kept.length === MOST_KEPT) return;
  const name = ["A", "B", "C", "D"].find((one) => !kept.some((other) => other.name === one));
  kept = [...kept, { name, shot: now.shot, settings: now.settings }].sort((a, b) => a.name.localeCompare(b.name));
  showKept();
}

function showKept() {
  byId("kept-none").hidden = kept.length > 0;
  byId("kept").classList.toggle("some", kept.length > 0);
  byId("kept-shots").replaceChildren(...kept.map((one) => element("article", { class: "kept", id: `kept-${one.name}`, "aria-label": `Shot ${one.name}` },
    element("figure", { id: `figure-${one.name}` }, element("figcaption"), drawn("svg", { class: "section", role: "img" }), element("p", { class: "nothing", hidden: true })),
    element("p", {}, element("strong", {}, `${one.name}: ${one.shot.text}. `), element("span", { class: "small" }, one.shot.why)),
    element("p", { class: "differs" }),
    element("div", { class: "tools" }, button(`Go to ${one.name}`, () => goTo(one.settings)), button(`Drop ${one.name}`, () => drop(one.name))))));
  showKeepButton();
  drawKept();
}

function button(text, act) {
  const made = element("button", { type: "button" }, text);
  made.addEventListener("click", act);
  return made;
}

function showKeepButton() {
  byId("keep").disabled = !now?.isFull || kept.length === MOST_KEPT;
  byId("keep").textContent = kept.length === MOST_KEPT ? "Four are kept" : "Keep this shot";
}

function drop(name) {
  kept = kept.filter((one) => one.name !== name);
  showKept();
  byId("keep").focus();
}

function drawKept() {
  showKeepButton();
  if (kept.length === 0) return;
  drawShots(kept, kept.map((one) => one.name));
  for (const one of kept) byId(`kept-${one.name}`).querySelector(".differs").textContent = differs(one);
}

// What differs between a kept shot and the one that is shown, in a sentence.
function differs(one) {
  if (!now) return "";
  const names = [...new Set([...Object.keys(one.settings), ...Object.keys(now.settings)])];
  const hasBoth = (name) => name in one.settings && name in now.settings;
  // Of a train or chopping that only one of them has, its first word says enough.
  const isSaid = (name) => (name !== "pause" || hasBoth("count")) && (name !== "repetition_rate" || hasBoth("pulse_duration"));
  const changed = names.filter((name) => one.settings[name] !== now.settings[name] && isSaid(name)).map((name) => {
    const said = (text) => text === undefined ? ABSENT[name] ?? "none" : typeset(text).replaceAll("_", " ");
    return `${(knobs[name]?.label ?? name).toLowerCase()} ${said(one.settings[name])} instead of ${said(now.settings[name])}`;
  });
  if (changed.length === 0) return "This is the shot shown above.";
  const said = (shot, name) => figureText(shot, name) ?? "none";
  const effects = COMPARED.filter(([name]) => said(one.shot, name) !== said(now.shot, name))
    .map(([name, label]) => `${label} ${said(one.shot, name)} instead of ${said(now.shot, name)}`);
  const words = one.shot.word === now.shot.word ? `${one.shot.word} both` : `${one.shot.word} instead of ${now.shot.word}`;
  return `Against the shot shown: ${changed.join(", ")} makes ${[...effects, words].join(", ")}.`;
}
