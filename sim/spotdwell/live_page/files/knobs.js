// Knobs: each a number with its unit beside a slider in round steps; and the settings that they make.
"use strict";

const ROUND = [1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3, 3.2, 3.5, 4, 4.5, 5, 5.5, 6, 7, 8, 9];
const SIZES = { W: 1, mm: 1e-3, um: 1e-6, s: 1, ms: 1e-3, us: 1e-6, Hz: 1, "": 1 };
const knobs = {};
let whenTurned = () => {};

// Round numbers from low to high; whole ones for a count.
function stepsOf(low, high, whole) {
  const steps = [];
  for (let decade = Math.floor(Math.log10(low)); decade <= Math.log10(high); decade += 1) {
    for (const one of ROUND) steps.push(Number((one * 10 ** decade).toPrecision(3)));
  }
  return steps.filter((one) => one >= low && one <= high && (!whole || Number.isInteger(one)));
}

function addKnob({ name, label, units, low, high, start, part }) {
  const steps = stepsOf(low, high, units[0] === "");
  const slider = element("input", { type: "range", id: `${name}-slider`, min: 0, max: steps.length - 1, step: 1, "aria-label": `${label}, slider` });
  const number = element("input", { type: "text", id: name, inputmode: "decimal", size: 6, autocomplete: "off", "aria-describedby": `${name}-wrong` });
  const unit = units.length > 1
    ? element("select", { id: `${name}-unit`, "aria-label": `Unit of ${label.toLowerCase()}` }, ...units.map((one) => element("option", { value: one }, shownUnit(one))))
    : element("span", { class: "unit" }, shownUnit(units[0]));
  const wrong = element("p", { id: `${name}-wrong`, class: "wrong" });
  const box = element("div", { class: "knob", id: `knob-${name}` },
    element("label", { for: name }, label), element("span", { class: "value" }, number, unit), slider, wrong);
  byId(`knobs-${part}`).append(box);
  knobs[name] = { name, label, part, box, slider, number, unit, units, steps, wrong };
  setKnob(name, start);
  slider.addEventListener("input", () => { fromSlider(knobs[name]); whenTurned(true); });
  slider.addEventListener("change", () => { fromSlider(knobs[name]); whenTurned(false); });
  number.addEventListener("change", () => { toSlider(knobs[name]); whenTurned(false); });
  if (units.length > 1) unit.addEventListener("change", () => { convert(knobs[name]); whenTurned(false); });
}

const shownUnit = (unit) => unit.replace(/^u/, "µ");
const unitOf = (knob) => knob.units.length > 1 ? knob.unit.value : knob.units[0];

// What stands in the number, in the knob's first unit; NaN where it is none.
function inFirst(knob) {
  const number = Number(knob.number.value.trim().replace(",", ".") || NaN);
  return (number * SIZES[unitOf(knob)]) / SIZES[knob.units[0]];
}

function fromSlider(knob) {
  const value = knob.steps[knob.slider.value];
  knob.number.value = plainNumber((value * SIZES[knob.units[0]]) / SIZES[unitOf(knob)]);
  tellSlider(knob);
}

function toSlider(knob) {
  const value = inFirst(knob);
  if (value > 0) knob.slider.value = nearest(knob.steps, value);
  tellSlider(knob);
}

const tellSlider = (knob) => knob.slider.setAttribute("aria-valuetext", `${knob.number.value} ${shownUnit(unitOf(knob))}`.trim());
const nearest = (steps, value) => steps.reduce((best, one, place) =>
  Math.abs(Math.log(one / value)) < Math.abs(Math.log(steps[best] / value)) ? place : best, 0);
const plainNumber = (number) => `${Number(number.toPrecision(4))}`;

// Keep the quantity when its unit is changed.
function convert(knob) {
  const before = knob.lastUnit;
  const number = Number(knob.number.value.replace(",", "."));
  if (before && number > 0) knob.number.value = plainNumber((number * SIZES[before]) / SIZES[knob.unit.value]);
  knob.lastUnit = knob.unit.value;
  tellSlider(knob);
}

// Set a knob to a quantity such as "1.6 mm".
function setKnob(name, text) {
  const knob = knobs[name];
  const [number, unit = ""] = text.trim().split(/\s+/);
  knob.number.value = number;
  if (knob.units.includes(unit) && knob.units.length > 1) knob.unit.value = unit;
  else if (unit !== unitOf(knob)) knob.number.value = plainNumber((Number(number) * SIZES[unit]) / SIZES[unitOf(knob)]);
  knob.lastUnit = unitOf(knob);
  toSlider(knob);
}

const isUsed = (knob) => !knob.box.hidden && (knob.part === "shot" || byId(`with-${knob.part}`).checked);

// The settings as the machine takes them: {"power": "25 W"}.
function settingsNow() {
  const found = { material: byId("material").value };
  if (byId("laser").value) {
    found.laser = byId("laser").value;
    found.dial = byId("dial").value;
  }
  for (const knob of Object.values(knobs).filter(isUsed)) {
    found[knob.name] = `${knob.number.value.trim().replace(",", ".")} ${unitOf(knob)}`.trim();
  }
  return found;
}

// Put the controls where the settings say.
function showSettings(settings) {
  byId("material").value = settings.material;
  byId("laser").value = settings.laser ?? "";
  showDials(settings.dial);
  for (const part of ["repeat", "carrier"]) {
    byId(`with-${part}`).checked = Object.values(knobs).some((knob) => knob.part === part && knob.name in settings);
  }
  for (const name of Object.keys(knobs)) if (settings[name]) setKnob(name, settings[name]);
  showParts();
}

function showParts() {
  for (const part of ["repeat", "carrier"]) byId(`knobs-${part}`).hidden = !byId(`with-${part}`).checked;
}

let lasers = [];
function showDials(dial) {
  const laser = lasers.find((one) => one.name === byId("laser").value);
  byId("dial-line").hidden = !laser;
  knobs.spot.box.hidden = Boolean(laser);
  const dials = laser ? laser.dials : [];
  byId("dial").replaceChildren(...dials.map((one) => element("option", { value: one.dial }, `${one.dial}: ${one.spot}`)));
  if (dial) byId("dial").value = dial;
}

// Mark the knobs that the machine complains of; what belongs to none is told below them.
function complain(problems) {
  for (const knob of Object.values(knobs)) {
    knob.wrong.textContent = "";
    knob.number.removeAttribute("aria-invalid");
  }
  const others = [];
  for (const { where, expected, got, advice } of problems) {
    const text = `Expected ${typeset(expected)}, got ${typeset(got)}. ${typeset(advice)}`;
    const knob = knobs[where];
    if (knob && isUsed(knob)) {
      knob.wrong.textContent = text;
      knob.number.setAttribute("aria-invalid", "true");
    } else others.push(`${where}: ${text}`);
  }
  byId("complaint").replaceChildren(...others.map((text) => element("p", { class: "wrong" }, text)));
}

const partsOf = (settings) => Object.entries(settings).map(([name, text]) =>
  name === "material" ? text.replaceAll("_", " ") : `${(knobs[name]?.label ?? name).toLowerCase()} ${typeset(text)}`);
const textOf = (settings) => partsOf(settings).join(", ");
