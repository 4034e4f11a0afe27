// A tap is kept on the phone before it is sent, and leaves it only when the server has answered. Forms that are taps
// carry data-tap, which says what is done; without script they are plain forms.

import { openStore } from "./store.js";

const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";
const PERSON = meta("person");
const TOKEN_ADDRESS = meta("tap-token");
const SAID = "sawbuck-said";
const EVERY_MS = 15000;
const SOON_MS = 4000;
const LONGEST_MS = 20000;
const MOST_FAULTS = 5;

let store = null;
let why = ""; // taps wait: "", or what keeps them

const newKey = () =>
  [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");

// ---- sending ----------------------------------------------------------------------------------------------

const ask = (address, options = {}) =>
  fetch(address, {
    ...options,
    headers: { Accept: "application/json", ...options.headers },
    credentials: "same-origin",
    redirect: "error",
    signal: AbortSignal.timeout(LONGEST_MS),
  });

// The token is never kept with a tap: it is fetched anew, and says whose the phone is now.
const freshToken = async () => {
  const answer = await ask(TOKEN_ADDRESS);
  if (answer.status === 401) return { signedOut: true };
  if (!answer.ok) throw new Error(`no token: ${answer.status}`);
  return answer.json();
};

const settled = async (answer) => {
  if (!answer.headers.get("content-type")?.startsWith("application/json")) return null;
  const said = await answer.json();
  return typeof said.ok === "boolean" ? said : null;
};

const send = (tap, token) => {
  const body = new URLSearchParams(tap.fields);
  body.set("key", tap.key);
  return ask(tap.address, { method: "POST", body, headers: { "X-CSRFToken": token } });
};

const answerOf = (tap, said, kind) => ({
  kind,
  says: tap.says,
  sentence: said.sentence,
  at: tap.at,
  person: tap.person,
});

// What came of one tap: its answer, or null where it has to be sent again.
const sendOne = async (tap, token, isNow) => {
  const answer = await send(tap, token);
  const said = await settled(answer);
  if (said) {
    const isForm = isNow && answer.status === 422;
    const keep = said.ok ? tap.tells && !isNow : !isForm;
    await store.settle(tap, keep ? answerOf(tap, said, said.ok ? "good" : "careful") : null);
    return { ...said, isForm };
  }
  if (answer.status === 500) {
    tap.faults = (tap.faults ?? 0) + 1;
    if (tap.faults < MOST_FAULTS) await store.change("taps", tap);
    else {
      const sentence = `The server failed at this ${MOST_FAULTS} times. Nothing was saved; tell whoever looks after it.`;
      await store.settle(tap, answerOf(tap, { sentence }, "careful"));
      return { ok: false, sentence };
    }
  }
  return null;
};

const mine = async () => (await store.all("taps")).filter((tap) => tap.person === PERSON);

// All that wait, in order, until one can't be sent. Returns what came of the tap with this id, if it was among them.
const sendAll = async (nowId = null) => {
  let found = null;
  why = "";
  try {
    if (!(await mine()).length) return found;
    const { token, person, signedOut } = await freshToken();
    if (signedOut || person !== PERSON) why = "signed out";
    else {
      for (const tap of await mine()) {
        const said = await sendOne(tap, token, tap.id === nowId);
        if (!said) {
          why = "the server";
          break;
        }
        if (tap.id === nowId) found = said;
      }
    }
  } catch {
    why = "the network";
  }
  return found;
};

const inTurn = (work) => (navigator.locks ? navigator.locks.request("sawbuck-taps", work) : work());

export const replay = async (nowId) => {
  const found = await inTurn(() => sendAll(nowId));
  await show();
  return found;
};

// ---- what people see --------------------------------------------------------------------------------------

export const notice = (kind, text, strong = "") => {
  const made = document.createElement("div");
  made.className = `notice notice-${kind}`;
  const sign = document.createElement("span");
  sign.className = "notice-sign";
  sign.setAttribute("aria-hidden", "true");
  sign.textContent = kind === "good" ? "✓" : "!";
  const words = document.createElement("p");
  if (strong) words.append(Object.assign(document.createElement("strong"), { textContent: `${strong} ` }));
  words.append(text);
  made.append(sign, words);
  return made;
};

const timeOf = (at) => new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
const KEPT_BY = {
  "signed out": "You are signed out: sign in again, and they are sent.",
  "the server": "The server can't take them now; they are sent as soon as it can.",
  "the network": "They are sent when the shop can be reached.",
  "": "They are being sent.",
};

const showWaiting = async () => {
  const bar = document.querySelector("[data-waiting-taps]");
  const taps = await store.all("taps");
  const belongs = taps.filter((tap) => tap.person === PERSON);
  const others = taps.length - belongs.length;
  // What is on its way is not waiting yet: the page would jump with each tap.
  const own = why ? belongs : belongs.filter((tap) => Date.now() - tap.at > SOON_MS);
  const lines = [];
  if (own.length) lines.push(`${own.length} ${own.length === 1 ? "tap waits" : "taps wait"} on this phone. ${KEPT_BY[why]}`);
  if (others) lines.push(`${others} of someone else's wait here, until they sign in on this phone.`);
  bar.hidden = !lines.length;
  bar.replaceChildren(lines.join(" "));
  if (own.length) {
    const list = document.createElement("details");
    list.append(Object.assign(document.createElement("summary"), { textContent: "Which" }));
    const items = document.createElement("ol");
    items.append(...own.slice(0, 50).map((tap) =>
      Object.assign(document.createElement("li"), { textContent: `${tap.says}, ${timeOf(tap.at)}` })));
    list.append(items);
    bar.append(list);
  }
};

const showAnswers = async () => {
  const place = document.querySelector("[data-tap-answers]");
  const answers = (await store.all("answers")).filter((answer) => answer.person === PERSON);
  place.replaceChildren(...answers.map((answer) => {
    const strong = answer.kind === "good" ? `${answer.says}:` : `Not done, ${answer.says} at ${timeOf(answer.at)}:`;
    const made = notice(answer.kind, answer.sentence, strong);
    const seen = Object.assign(document.createElement("button"), { type: "button", textContent: "Seen" });
    seen.addEventListener("click", async () => {
      await store.remove("answers", answer.id);
      await showAnswers();
    });
    made.append(seen);
    return made;
  }));
};

const show = async () => {
  await showWaiting();
  await showAnswers();
};

const showSaid = () => {
  const sentence = sessionStorage.getItem(SAID);
  if (!sentence) return;
  sessionStorage.removeItem(SAID);
  document.querySelector("[data-said]")?.append(notice("good", sentence));
};

// ---- a tap ------------------------------------------------------------------------------------------------

const keptNote = (form) => {
  form.querySelector(".notice")?.remove();
  form.append(notice("careful", "It waits on this phone and is sent later.", `${form.dataset.tap}.`));
  delete form.dataset.sent;
};

// A page that stays where it is (data-stay) hears what came of a tap by this event.
const tell = (form, said) =>
  form.dispatchEvent(new CustomEvent("sawbuck:answered", { bubbles: true, detail: said }));

const goOn = (form, said) => {
  if (form.closest("[data-stay]")) {
    tell(form, said);
    return;
  }
  sessionStorage.setItem(SAID, said.sentence);
  if (!said.next || said.next === location.pathname + location.search) location.reload();
  else location.assign(said.next);
};

export const take = async (form, submitter) => {
  const fields = [...new FormData(form, submitter)].filter(([name]) => name !== "csrfmiddlewaretoken" && name !== "key");
  const id = await store.add("taps", {
    key: newKey(),
    person: PERSON,
    address: new URL(form.action).pathname,
    fields,
    says: form.dataset.tap,
    tells: "tapTells" in form.dataset,
    at: Date.now(),
  });
  const said = await replay(id);
  if (!said && (await store.all("taps")).some((tap) => tap.id === id)) {
    keptNote(form);
    tell(form, null);
  } else if (!said) location.reload(); // another tab of this phone has sent it
  else if (said.ok) goOn(form, said);
  else if (said.isForm) form.submit(); // its page says what is wrong beside each field
  else {
    delete form.dataset.sent;
    document.querySelector("[data-tap-answers]").scrollIntoView({ block: "center" });
    tell(form, said);
  }
};

const start = async () => {
  try {
    store = await openStore();
  } catch {
    return;
  }
  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented || !event.target.matches("form[data-tap]")) return;
    event.preventDefault();
    take(event.target, event.submitter);
  });
  showSaid();
  await show();
  replay();
  window.addEventListener("online", () => replay());
  document.addEventListener("visibilitychange", () => { if (!document.hidden) replay(); });
  setInterval(() => replay(), EVERY_MS);
};

// ---- pages kept for reading without a network -------------------------------------------------------------

const keepPages = async () => {
  if (!("serviceWorker" in navigator)) return;
  await navigator.serviceWorker.register("/service-worker.js");
  if (localStorage.getItem("sawbuck-person") !== PERSON) await caches.delete("sawbuck-pages");
  localStorage.setItem("sawbuck-person", PERSON);
  await navigator.serviceWorker.ready;
  if (!navigator.serviceWorker.controller) return;
  const links = new Set([...document.querySelectorAll("a[data-keep]")].map((link) => link.href));
  for (const address of [...links].slice(0, 20)) {
    await fetch(address, { headers: { Accept: "text/html" }, priority: "low" }).catch(() => null);
  }
};

if (PERSON) {
  start();
  keepPages().catch(() => null);
}
