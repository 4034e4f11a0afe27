// The scan page: whole frames of the camera are read one at a time; what a label says is asked of this server,
// and shown below the picture without leaving the page.

import { Camera, whyNot } from "./camera.js";
import { noteOn } from "./note.js";
import { makeReader } from "./reader.js";
import { signal } from "./signal.js";

const page = document.querySelector("[data-scan]");
const part = (name) => page.querySelector(`[data-scan-${name}]`);
const { partAddress, decoder, decoderWasm, labelOrigin, job = "" } = page.dataset;

const WIDEST = 1280; // pixels: more is slower and reads no better
const SAME_AGAIN_AFTER_MS = 2500; // the label that still lies before the camera is not scanned again
const NOTHING_READ_AFTER_MS = 8000;
const NOTHING_READ =
  "Nothing is read yet. Hold the phone a hand's width away, wipe the label, or switch on the light. The code stands beside the square: type it below.";

const camera = new Camera(part("video"));
const canvas = document.createElement("canvas");
const context = canvas.getContext("2d", { willReadFrequently: true });
let read = null;
let last = { text: null, at: 0 };
let lastPiece = "";
let quietSince = performance.now();

const say = (text, kind = "") => {
  const status = part("status");
  if (status.textContent === text) return;
  status.textContent = text;
  status.dataset.kind = kind;
};

// ---- what was read ----------------------------------------------------------------------------------------

// The code in an address that a label of this shop carries; null for anything else.
const codeIn = (text) => {
  let address;
  try {
    address = new URL(text);
  } catch {
    return null;
  }
  const origins = [location.origin, labelOrigin].map((origin) => origin.toLowerCase());
  const found = address.pathname.match(/^(?:\/.*)?\/s\/([0-9A-Za-z-]{6,7})\/?$/i);
  return found && origins.includes(address.origin.toLowerCase()) ? found[1].toUpperCase() : null;
};

const foreign = (text) => {
  const shown = text.length > 40 ? `${text.slice(0, 40)}…` : text;
  signal.wrong();
  say(`This square is not from a label of this shop. It says: ${shown}`, "careful");
};

const taken = async (text) => {
  const now = performance.now();
  quietSince = now;
  if (text === last.text && now - last.at < SAME_AGAIN_AFTER_MS) {
    last.at = now;
    return;
  }
  last = { text, at: now };
  const code = codeIn(text);
  if (code) await got(code);
  else foreign(text);
};

const show = async (code) => {
  const asked = new URLSearchParams({ code, after: lastPiece, job });
  let answer;
  try {
    answer = await fetch(`${partAddress}?${asked}`, { headers: { Accept: "text/html" } });
  } catch {
    withoutNetwork(code);
    return;
  }
  if (answer.redirected) {
    signal.wrong();
    say("You are signed out. Sign in again, then scan on.", "careful");
    return;
  }
  if (answer.status >= 500) {
    signal.wrong();
    say(`The server answered with error ${answer.status}. Scan again in a moment.`, "careful");
    return;
  }
  put(await answer.text());
};

const put = (html) => {
  const place = part("found");
  place.innerHTML = html;
  const card = place.firstElementChild;
  const isWrong = card?.dataset.kind === "careful";
  if (isWrong) signal.wrong();
  else signal.right();
  lastPiece = card?.dataset.piece ?? lastPiece;
  say(card?.dataset.said ?? "", isWrong ? "careful" : "good");
  document.dispatchEvent(new CustomEvent("sawbuck:part", { detail: card }));
};

// Without a network the page itself knows what can be done with any piece: it waits on the phone.
const withoutNetwork = (code) => {
  const template = part("offline");
  signal.right();
  const card = template.content.cloneNode(true);
  card.querySelectorAll("form").forEach((form) => {
    form.action = form.getAttribute("action").replace("CODE", code);
    form.dataset.tap = form.dataset.tap.replace("CODE", `${code.slice(0, 3)}-${code.slice(3)}`);
  });
  card.querySelector("[data-code]").textContent = `${code.slice(0, 3)}-${code.slice(3)}`;
  part("found").replaceChildren(card);
  say(`${code.slice(0, 3)}-${code.slice(3)} is read; the shop can't be reached.`, "careful");
};

// What came of a tap that was made here: said, and the card shown anew. A refusal stands above, until it is seen.
page.addEventListener("sawbuck:answered", async ({ detail: said }) => {
  if (said?.ok && note) {
    await note.refresh();
    if (said.kind === "careful") signal.wrong();
    else signal.right();
    say(said.sentence, said.kind);
    return;
  }
  if (said?.ok) {
    part("found").replaceChildren();
    if (lastPiece) await show(lastPiece);
    say(said.sentence, "good");
    return;
  }
  signal.wrong();
  say(said ? said.sentence : "The shop can't be reached: it waits on this phone and is sent later.", "careful");
});

// ---- the camera -------------------------------------------------------------------------------------------

const nextFrame = () =>
  new Promise((done) => {
    const { video } = camera;
    if (video.requestVideoFrameCallback) video.requestVideoFrameCallback(done);
    else setTimeout(done, 80);
  });

const watch = async () => {
  const { video } = camera;
  while (camera.isOpen) {
    await nextFrame();
    if (!camera.isOpen || !video.videoWidth) continue;
    const scale = Math.min(1, WIDEST / video.videoWidth);
    canvas.width = video.videoWidth * scale;
    canvas.height = video.videoHeight * scale;
    context.drawImage(video, 0, 0, canvas.width, canvas.height);
    const text = await read(canvas, context);
    if (text) await taken(text);
    else if (performance.now() - quietSince > NOTHING_READ_AFTER_MS) {
      quietSince = performance.now();
      say(NOTHING_READ, "careful");
    }
  }
};

// In a counting round a label is noted; elsewhere it is shown.
const note = part("note") ? noteOn(part("note"), say) : null;
const got = (code) => (note ? note.take(code) : show(code));

const start = async () => {
  say("The camera starts.");
  try {
    await camera.open();
    read ??= await makeReader(decoder, decoderWasm);
  } catch (error) {
    camera.close();
    page.dataset.camera = "off";
    say(whyNot(error), "careful");
    return;
  }
  page.dataset.camera = "on";
  part("light").hidden = !camera.hasLight;
  quietSince = performance.now();
  say("Point the camera at the square on a label.");
  watch();
};

const stop = () => {
  camera.close();
  page.dataset.camera = "off";
  say("The camera is off.");
};

part("start").addEventListener("click", start);
part("stop").addEventListener("click", stop);
part("light").addEventListener("click", async (event) => {
  const on = event.currentTarget.getAttribute("aria-pressed") !== "true";
  await camera.light(on);
  event.currentTarget.setAttribute("aria-pressed", String(on));
});
part("sound").addEventListener("click", (event) => {
  event.currentTarget.setAttribute("aria-pressed", String(signal.toggle()));
});
part("sound").setAttribute("aria-pressed", String(signal.isOn));

// Typed or from a hand-held scanner: answered in the same place. Words go to the stock page as without script.
part("typed")?.addEventListener("submit", (event) => {
  const input = event.target.elements.code;
  const text = input.value.trim();
  const code = codeIn(text) ?? (/^[0-9A-Za-z][0-9A-Za-z\s-]{4,9}$/.test(text) && /\d/.test(text) ? text : null);
  if (!code) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  input.select();
  show(code);
});

document.addEventListener("visibilitychange", () => {
  if (document.hidden) camera.close();
  else if (page.dataset.camera === "on") start();
});

start();
