// Controls: a slider for each input with numbers, a list for each with words, for the settings A and B.

function addControls(name, choose) {
  const set = byId(`set-${name}`);
  map.axes.forEach((axis, number) => {
    const id = `${name}-${axis.name}`;
    const last = axis.values.length - 1;
    const label = element("label", { for: id }, axis.label);
    const output = element("output", { for: id, id: `${id}-value` });
    const head = element("div", { class: "head" }, label, output);
    if (axis.is_word) {
      const options = axis.texts.map((text, place) => element("option", { value: place }, text));
      const list = element("select", { id }, ...options);
      list.addEventListener("change", () => choose(name, number, Number(list.value)));
      set.append(element("div", { class: "control" }, label, list));
      return;
    }
    const ticks = axis.texts.map((text, place) => element("option", { value: place, label: text }));
    const slider = element("input", { type: "range", id, min: 0, max: last, step: 1, list: `${id}-ticks`, disabled: last === 0 });
    slider.addEventListener("input", () => choose(name, number, Number(slider.value)));
    const ends = element("div", { class: "ends", "aria-hidden": "true" },
      ...[0, last].map((place) => element("span", {}, valueText(number, place))));
    set.append(element("div", { class: "control" }, head, slider,
      element("datalist", { id: `${id}-ticks` }, ...ticks), ends));
  });
}

function showControls(name, places) {
  map.axes.forEach((axis, number) => {
    const control = byId(`${name}-${axis.name}`);
    control.value = places[number];
    if (axis.is_word) return;
    control.setAttribute("aria-valuetext", valueText(number, places[number]));
    byId(`${name}-${axis.name}-value`).textContent = valueText(number, places[number]);
  });
}
