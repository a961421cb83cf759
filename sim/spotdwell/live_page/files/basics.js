// Basics: elements, and numbers as texts. Texts are never read as HTML.
"use strict";

const byId = (id) => document.getElementById(id);

function filled(made, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

const element = (tag, attributes = {}, ...children) => filled(document.createElement(tag), attributes, children);
const drawn = (tag, attributes = {}, ...children) =>
  filled(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);

// Three significant digits, without an exponent.
function significant(number) {
  if (number === 0) return "0";
  const rounded = Number(number.toPrecision(3));
  const decimals = 2 - Math.floor(Math.log10(Math.abs(rounded)));
  return rounded.toFixed(Math.min(Math.max(decimals, 0), 8));
}

// A length in um as text, such as 614 µm or 1.42 mm.
const lengthText = (length) =>
  Math.abs(length) >= 999.5 ? `${significant(length / 1000)} mm` : `${significant(length)} µm`;

// The same without idle zeros, such as 2 mm.
function plainLength(length) {
  const [number, unit] = length >= 999.5 ? [length / 1000, "mm"] : [length, "µm"];
  return `${Number(number.toPrecision(4))} ${unit}`;
}

// A time in s as text, such as 80 ms.
function timeText(time) {
  if (time === 0) return "0";
  const [scale, unit] = time >= 1 ? [1, "s"] : time >= 1e-3 ? [1e3, "ms"] : [1e6, "µs"];
  return `${Number((time * scale).toPrecision(3))} ${unit}`;
}

// A quantity with the signs that keyboards lack.
const typeset = (text) => text.replace(/ u([ms])\b/g, " µ$1");
