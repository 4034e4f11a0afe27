// What script adds to pages that work without it: the token for htmx requests, focus, folding, printing.
(() => {
  "use strict";

  const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";

  document.addEventListener("htmx:configRequest", (event) => {
    event.detail.headers["X-CSRFToken"] = meta("csrf-token");
  });

  // An answer that htmx does not swap in must not look like nothing happened.
  const failed = (sentence) => {
    const place = document.querySelector("[data-failure]");
    if (!place) return;
    place.querySelector("[data-failure-text]").textContent = sentence;
    place.hidden = false;
    place.focus();
  };
  document.addEventListener("htmx:sendError", () =>
    failed("The server can't be reached, and nothing was saved. Look at the Wi-Fi, then try again."),
  );
  document.addEventListener("htmx:responseError", (event) => {
    const status = event.detail.xhr.status;
    if (status === 401 || status === 403) failed("You may not do that, or you were signed out. Load the page again.");
    else failed(`The server answered with error ${status}. Load the page again to see what was saved.`);
  });

  document.addEventListener("htmx:afterSwap", (event) => {
    event.detail.target.querySelector(".error-summary")?.focus();
  });

  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-print]")) window.print();
    const box = event.target.closest("input[data-check-all]");
    if (box) {
      const boxes = document.querySelectorAll(`input[type="checkbox"][name="${box.dataset.checkAll}"]`);
      boxes.forEach((other) => { other.checked = box.checked; });
    }
    document.querySelectorAll("details[data-close-outside][open]").forEach((details) => {
      if (!details.contains(event.target)) details.open = false;
    });
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const open = event.target.closest?.("details[data-close-outside][open]");
    if (!open) return;
    open.open = false;
    open.querySelector("summary").focus();
  });

  // The same tap twice is harmless on the server (its key counts once); this spares the second wait.
  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented || event.target.method !== "post") return;
    if (event.submitter?.formTarget) return; // a file for another tab: this page stays and may be sent again
    if (event.target.dataset.sent) event.preventDefault();
    const form = event.target;
    form.dataset.sent = "1";
    // A form that answers with a file leaves the page standing.
    setTimeout(() => { delete form.dataset.sent; }, 4000);
  });
  window.addEventListener("pageshow", () => {
    document.querySelectorAll("form[data-sent]").forEach((form) => { delete form.dataset.sent; });
  });

  // Controls that only script can serve are in the page hidden.
  document.querySelectorAll("[data-needs-script]").forEach((element) => { element.hidden = false; });
})();
