// In a counting round each label is a tap that notes it; the label of a place says where the next ones are.

import { signal } from "./signal.js";

export const noteOn = (form, say) => {
  const places = new Map(form.dataset.places.split(";").map((pair) => pair.split("=", 2)));
  const { code: box, here } = form.elements;

  const take = (code) => {
    box.value = code;
    form.requestSubmit();
  };

  // Known here, so that it holds without a network too.
  const atPlace = (code) => {
    const typed = code.match(/\/s\/([^/]+)\/?$/i)?.[1] ?? code; // a hand-held scanner types the whole address
    const plain = typed.replace(/[\s-]/g, "").toUpperCase();
    if (!places.has(plain)) return false;
    here.value = plain;
    history.replaceState(null, "", `?here=${plain}`);
    signal.right();
    say(`You are at ${places.get(plain)}: what is scanned now is there.`, "good");
    refresh();
    return true;
  };

  // Before the tap is kept: its words name the label, and a place is no tap.
  form.addEventListener("submit", (event) => {
    form.dataset.tap = `Seen ${box.value.toUpperCase()} in a count`;
    delete form.dataset.sent;
    if (atPlace(box.value)) {
      event.preventDefault();
      box.value = "";
    } else setTimeout(() => { box.value = ""; });
  });

  const refresh = async () => {
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const state = page.querySelector("[data-scan-state]");
      if (state) document.querySelector("[data-scan-state]").replaceWith(state);
    } catch {
      // Without a network the figures stay as they were; the taps are counted on top of the page.
    }
  };

  return { take, refresh };
};
