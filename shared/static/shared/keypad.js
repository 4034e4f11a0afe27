// A keypad for lengths on touch screens: whole inches, then sixteenths. A shop in millimetres gets the phone's own
// digits. Without it the field is a plain field: anything can be typed there.

const UNIT = document.querySelector('meta[name="shop-unit"]')?.content;
const IS_TOUCHED = matchMedia("(pointer: coarse)").matches;
const PARTS = /^(\d*) ?((\d+)\/(\d+))?$/;

const reduced = (sixteenths) => {
  let [top, bottom] = [sixteenths, 16];
  while (top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  return `${top}/${bottom}`;
};

// ---- what a key does to what stands in the field ----------------------------------------------------------

export const after = (text, key) => {
  const parts = text.trim().match(PARTS);
  if (key === "clear") return "";
  if (!parts) return key === "back" ? text.slice(0, -1) : text + key;
  const [, whole, fraction = ""] = parts;
  const joined = (a, b) => [a, b].filter(Boolean).join(" ");
  if (key === "back") return fraction ? whole : whole.slice(0, -1);
  if (key === "no fraction") return whole;
  return key.includes("/") ? joined(whole, key) : joined(`${whole}${key}`.replace(/^0+(?=\d)/, ""), fraction);
};

// ---- its keys ---------------------------------------------------------------------------------------------

const button = (key, label, name, className = "keypad-key") => {
  const made = document.createElement("button");
  made.type = "button";
  made.dataset.key = key;
  made.className = className;
  made.textContent = label;
  if (name) made.setAttribute("aria-label", name);
  return made;
};

const fractionButton = (text) => {
  const made = button(text, "", text, "keypad-key keypad-fraction");
  for (const half of text.split("/")) made.append(Object.assign(document.createElement("span"), { textContent: half }));
  return made;
};

const digits = () => {
  const group = document.createElement("div");
  group.className = "keypad-digits";
  group.append(..."123456789".split("").map((digit) => button(digit, digit)));
  group.append(button("clear", "C", "Clear"), button("0", "0"), button("back", "⌫", "Delete the last"));
  return group;
};

const sixteenths = () => {
  const group = document.createElement("div");
  group.className = "keypad-sixteenths";
  for (let n = 1; n < 16; n += 1) group.append(fractionButton(reduced(n)));
  group.append(button("no fraction", "–", "No fraction"));
  return group;
};

const make = () => {
  const pad = document.createElement("div");
  pad.className = "keypad";
  pad.hidden = true;
  pad.setAttribute("role", "group");
  const ways = document.createElement("div");
  ways.className = "keypad-ways";
  ways.append(button("letters", "Other keys", "Show the phone's own keyboard", ""), button("next", "Next", "Next field", ""));
  ways.append(button("done", "Done", "Close the keypad", "button-main"));
  pad.append(digits(), sixteenths(), ways);
  document.body.append(pad);
  return pad;
};

// ---- the field it is for ----------------------------------------------------------------------------------

const start = (fields) => {
  const pad = make();
  let field = null;

  const open = (target) => {
    field = target;
    pad.setAttribute("aria-label", `Keypad for ${target.labels[0]?.textContent.trim() ?? "the length"}`);
    pad.hidden = false;
    document.body.classList.add("has-keypad");
    target.scrollIntoView({ block: "center" });
    // Of large type the keypad may reach beyond the middle.
    scrollBy(0, Math.max(0, target.getBoundingClientRect().bottom + 8 - pad.getBoundingClientRect().top));
  };
  const close = () => {
    pad.hidden = true;
    // The room below stays until the tap that closed the pad has landed: else the page slides away under the finger.
    setTimeout(() => { if (pad.hidden) document.body.classList.remove("has-keypad"); }, 400);
  };
  const put = (text) => {
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const next = () => {
    const all = [...field.form.elements].filter((other) => other.type !== "hidden" && !other.disabled && other.tabIndex >= 0);
    all[all.indexOf(field) + 1]?.focus();
  };
  const ownKeyboard = () => {
    field.inputMode = "text";
    close();
    field.blur();
    field.focus();
  };
  const ways = { letters: ownKeyboard, next, done: () => { close(); field.blur(); } };

  // The field keeps the focus, so that its caret and its name stay with whoever types.
  pad.addEventListener("pointerdown", (event) => event.preventDefault());
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("[data-key]")?.dataset.key;
    if (key) (ways[key] ?? (() => put(after(field.value, key))))();
  });
  for (const one of fields) {
    one.inputMode = "none";
    one.addEventListener("focus", () => { if (one.inputMode === "none") open(one); });
    one.addEventListener("blur", (event) => { if (!pad.contains(event.relatedTarget)) close(); });
  }
};

const fields = [...document.querySelectorAll("input.input-length")];
if (IS_TOUCHED && fields.length) {
  if (UNIT === "in") start(fields);
  else fields.forEach((field) => { field.inputMode = "decimal"; });
}
