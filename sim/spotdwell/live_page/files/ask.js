// Ask: requests to the machine that served the page, and their findings as they come.
"use strict";

const underWay = {};

async function posted(path, data, signal) {
  const answer = await fetch(path, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(data), signal });
  if (!answer.ok) throw new Error((await answer.text()).trim());
  return answer;
}

// Do a task in place of the one of this name that is under way; `hear` gets each finding.
async function ask(name, kind, settings, options, hear) {
  underWay[name]?.abort();
  const mine = new AbortController();
  underWay[name] = mine;
  try {
    const answer = await posted(`do/${kind}`, { settings, options }, mine.signal);
    await lines(answer.body, (finding) => { if (underWay[name] === mine) heard(hear, finding); });
  } catch (error) {
    if (underWay[name] === mine) hear({ kind: "failed", found: error instanceof TypeError ? GONE : error.message });
  } finally {
    if (underWay[name] === mine) delete underWay[name];
  }
}

const GONE = "spotdwell does not answer: it was ended, or this machine slept. Start it again and open its new address.";

function stopAsking(name) {
  underWay[name]?.abort();
  delete underWay[name];
}

// A fault of the page itself is told to the console, and as what it is, not as a server that is gone.
function heard(hear, finding) {
  try {
    hear(finding);
  } catch (error) {
    reportError(error);
    throw new Error(`the page failed: ${error.message}`);
  }
}

// Each line of a stream is one finding.
async function lines(stream, hear) {
  const reader = stream.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    const parts = (rest + value).split("\n");
    rest = parts.pop();
    for (const part of parts) hear(JSON.parse(part));
  }
}
