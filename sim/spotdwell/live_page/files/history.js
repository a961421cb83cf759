// History: temperature and depth in time; straight while the beam is used, by decades while all cools.
"use strict";

const PLOT = { left: 52, right: 12, top: 18, between: 26, foot: 40, lit: 0.6 };

function drawHistory(history) {
  const svg = byId("history");
  const size = { width: svg.clientWidth || 600, height: svg.clientHeight || 260 };
  svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
  svg.setAttribute("aria-label", historyWords(history));
  const across = acrossOf(history, size.width);
  const height = (size.height - PLOT.top - PLOT.between - PLOT.foot) / 2;
  const second = PLOT.top + height + PLOT.between;
  const hottest = { values: history.hottest, colour: map.inks.beam, dash: "" };
  const surface = { values: history.surface, colour: map.inks.ink, dash: "5 3" };
  svg.replaceChildren(
    ...litBands(history, across, PLOT.top, second + height),
    ...panel(history, across, PLOT.top, height, [hottest, surface], "°C"),
    ...panel(history, across, second, height, [{ values: history.depth, colour: map.inks.ink, dash: "" }], "µm", true),
    ...timeAxis(history, across, second + height),
    drawn("text", { x: size.width < 420 ? 4 : PLOT.left, y: 12 }, "temperature [°C]:",
      drawn("tspan", { fill: map.inks.beam, dx: 8 }, "— hottest place"), drawn("tspan", { dx: 8 }, "- - surface")),
    drawn("text", { x: PLOT.left, y: second - 7 }, `depth [${Math.max(...history.depth) >= 1500 ? "mm" : "µm"}]`));
}

// From a time to a place across; the part by decades begins where the beam is off for good.
function acrossOf(history, width) {
  const room = width - PLOT.left - PLOT.right;
  const end = history.time[history.time.length - 1];
  if (!history.cools) return { x: (time) => PLOT.left + (room * time) / end, end, split: null, room };
  const split = PLOT.left + PLOT.lit * room;
  const least = history.since * (end - history.off);
  const decades = Math.log10((end - history.off) / least);
  const x = (time) => time <= history.off ? PLOT.left + (PLOT.lit * room * time) / history.off
    : split + ((1 - PLOT.lit) * room * Math.log10(Math.max(time - history.off, least) / least)) / decades;
  return { x, end, split, room, least };
}

function litBands(history, across, top, bottom) {
  const bands = [];
  history.power.forEach((power, row) => {
    if (!(power > 0) || row === 0) return;
    const from = across.x(history.time[row - 1]);
    const last = bands[bands.length - 1];
    if (last && Math.abs(last.to - from) < 0.01) last.to = across.x(history.time[row]);
    else bands.push({ from, to: across.x(history.time[row]) });
  });
  return bands.map(({ from, to }) => drawn("rect",
    { x: from, y: top, width: Math.max(to - from, 0.5), height: bottom - top, fill: map.inks.beam, "fill-opacity": 0.09 }));
}

function panel(history, across, top, height, curves, unit, isDepth = false) {
  const all = curves.flatMap((curve) => curve.values.filter((value) => value !== null));
  const most = Math.max(...all, isDepth ? 1 : 50);
  const y = (value) => top + height - (height * value) / most;
  const scale = isDepth && most >= 1500 ? 1000 : 1;
  const step = roundLength(most / scale / 2) * scale;
  const marks = [];
  for (let value = 0; value <= most * 1.0001; value += step) {
    marks.push(drawn("path", { d: `M${PLOT.left},${y(value)}h${across.room}`, stroke: "#dddddd", "stroke-width": 0.7 }),
      drawn("text", { x: PLOT.left - 6, y: y(value) + 4, "text-anchor": "end" }, `${Number((value / scale).toPrecision(4))}`));
  }
  const lines = curves.map((curve) => {
    let pen = "M";
    const d = curve.values.map((value, row) => {
      if (value === null) { pen = "M"; return ""; }
      const point = `${pen}${across.x(history.time[row]).toFixed(1)},${y(value).toFixed(1)}`;
      pen = "L";
      return point;
    }).join("");
    return drawn("path", { d, fill: "none", stroke: curve.colour, "stroke-width": 1.6, "stroke-dasharray": curve.dash });
  });
  const frame = { d: `M${PLOT.left},${top}v${height}h${across.room}`, fill: "none", stroke: map.inks.ink };
  return [...marks, ...lines, drawn("path", frame)];
}

function timeAxis(history, across, y) {
  const end = across.split ? history.off : across.end;
  const step = roundLength(end / 4);
  const ticks = [];
  for (let time = 0; time <= end * 1.0001; time += step) ticks.push([across.x(time), timeText(time)]);
  const labels = [[PLOT.left + 2, "time", "start"]];
  if (across.split) {
    // The last mark of the straight part would run into the first of the decades.
    if (across.split - ticks[ticks.length - 1][0] < 30 && ticks.length > 1) ticks.pop();
    for (let decade = Math.ceil(Math.log10(across.least)); 10 ** decade <= across.end - history.off; decade += 1) {
      const x = across.x(history.off + 10 ** decade);
      if (x > across.split + 24 && x < PLOT.left + across.room - 8) ticks.push([x, timeText(10 ** decade)]);
    }
    labels.push([PLOT.left + across.room, "since the beam went off", "end"]);
  }
  const line = across.split ? [drawn("path", { d: `M${across.split},${PLOT.top}V${y}`, stroke: map.inks.faint, "stroke-dasharray": "2 3" })] : [];
  let last = -100;
  const shown = ticks.filter(([x]) => { const fits = x - last > 44; if (fits) last = x; return fits; });
  return [...line,
    ...shown.flatMap(([x, text]) => [drawn("path", { d: `M${x},${y}v4`, stroke: map.inks.ink }),
      drawn("text", { x, y: y + 17, "text-anchor": "middle" }, text)]),
    ...labels.map(([x, text, anchor]) => drawn("text", { x, y: y + 34, "text-anchor": anchor, class: "faint" }, text))];
}

function historyWords(history) {
  const peak = Math.max(...history.hottest);
  const when = history.time[history.hottest.indexOf(peak)];
  const depth = Math.max(...history.depth);
  const end = history.time[history.time.length - 1];
  return `Against time: the hottest place reaches ${significant(peak)} °C at ${timeText(when)}; the beam goes off for good at ` +
    `${timeText(history.off)}, when the crater is ${lengthText(depth)} deep or nearly so; the run ends at ${timeText(end)}.`;
}
