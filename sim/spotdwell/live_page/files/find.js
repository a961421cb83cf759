// Find: the spot, dwell or power that removes a depth, trial by trial.
"use strict";

let searched = {};

function find() {
  const depth = `${byId("depth").value.trim().replace(",", ".")} ${byId("depth-unit").value}`;
  const options = { unknown: byId("unknown").value, depth };
  byId("trials").replaceChildren();
  leaveSearch();
  byId("answer").replaceChildren(element("p", {}, "Searching …"));
  isSearching("find", true);
  searched = settingsNow();
  ask("search", "find", searched, options, hearFind);
}

function hearFind({ kind, found }) {
  const answer = byId("answer");
  if (kind === "trial") {
    byId("trials").hidden = false;
    byId("trials").append(element("li", {}, found.replace(/^try \d+: /, "")));
    byId("trials").scrollTop = byId("trials").scrollHeight;
  } else if (kind === "answer") {
    const go = found.found ? [button(`Set the ${found.name} to ${typeset(found.value)}`, () => goTo({ ...searched, [found.name]: found.value }))] : [];
    const more = found.more.length ? [element("ul", {}, ...found.more.map((one) => element("li", {}, one)))] : [];
    answer.replaceChildren(element("p", { class: "answer" }, found.line), ...more, ...go);
  } else if (kind === "wrong") {
    answer.replaceChildren(...found.map((one) => element("p", { class: "wrong" }, `${one.where}: expected ${typeset(one.expected)}, got ${typeset(one.got)}. ${typeset(one.advice)}`)));
  } else if (kind === "failed") answer.replaceChildren(element("p", { class: "wrong" }, found));
  else if (kind === "superseded") answer.replaceChildren(element("p", {}, "Stopped: something else was searched for."));
  if (["done", "wrong", "failed", "superseded"].includes(kind)) isSearching("find", false);
}

// A search and a map share one process: the newer stops the older.
function isSearching(name, is) {
  byId(`${name}-stop`).hidden = !is;
  byId(name === "find" ? "find" : "around").dataset.busy = is;
}

function leaveSearch() {
  if (!byId("find-stop").hidden) byId("answer").replaceChildren(element("p", {}, "Stopped."));
  if (!byId("map-stop").hidden) byId("map-state").textContent = "Stopped.";
  for (const name of ["find", "map"]) isSearching(name, false);
}

function stopSearch() {
  stopAsking("search");
  leaveSearch();
}
