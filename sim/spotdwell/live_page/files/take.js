// Take: files of the shot that is shown, and the command and Python that repeat it.
"use strict";

async function take(event) {
  const pressed = event.currentTarget;
  const line = element("li", {}, `${pressed.textContent}: being made …`);
  byId("taken").prepend(line);
  pressed.disabled = true;
  await ask(`take ${pressed.dataset.take}`, "take", now?.settings ?? settingsNow(), { what: pressed.dataset.take }, ({ kind, found }) => {
    if (kind === "taken") line.replaceChildren(`${pressed.textContent}: `, element("a", { href: `taken/${encodeURIComponent(found.name)}`, download: found.name }, found.name));
    else if (kind === "wrong") line.textContent = `${pressed.textContent}: ${found.map((one) => `expected ${one.expected}, got ${one.got}. ${one.advice}`).join(" ")}`;
    else if (kind === "failed") line.textContent = `${pressed.textContent}: ${found}`;
  });
  pressed.disabled = false;
}

async function showWords(settings) {
  try {
    const { command, python } = await (await posted("words", { settings })).json();
    byId("command").textContent = command;
    byId("python").textContent = python;
  } catch { /* The shot itself says what is wrong. */ }
}

async function copy(event) {
  const pressed = event.currentTarget;
  const text = pressed.textContent;
  await navigator.clipboard.writeText(byId(pressed.dataset.copy).textContent);
  pressed.textContent = "Copied";
  setTimeout(() => { pressed.textContent = text; }, 1500);
}
