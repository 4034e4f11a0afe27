// Two taps on a piece's drawing fill in the next empty row of the form below it. The form works without.
(() => {
  "use strict";

  const figure = document.querySelector("[data-mark-flaws]");
  const svg = figure?.querySelector("svg");
  const whole = svg?.querySelector("rect.part");
  if (!whole) return;

  const size = { x: Number(figure.dataset.length), y: Number(figure.dataset.width) };
  const perUnit = Number(figure.dataset.perUnit);
  const steps = perUnit > 100000 ? 16 : 1; // to the sixteenth of an inch, to the millimetre
  let first = null;
  let mark = null;

  // Where on the piece, from 0 to 1 along and across; a tap beside it counts as one on its edge.
  const at = (event) => {
    const box = whole.getBoundingClientRect();
    const within = (value) => Math.min(1, Math.max(0, value));
    return { x: within((event.clientX - box.left) / box.width), y: within((event.clientY - box.top) / box.height) };
  };

  const inUnits = (share, axis) => Math.round((share * size[axis] * steps) / perUnit) / steps;
  const most = (axis) => Math.floor((size[axis] * steps) / perUnit) / steps;

  // 4 11/16 rather than 4.6875, as a tape says it; millimetres are whole.
  const asText = (value) => {
    let [top, bottom] = [Math.round((value % 1) * steps), steps];
    for (; top && top % 2 === 0; top /= 2) bottom /= 2;
    return [Math.floor(value) || "", top ? `${top}/${bottom}` : ""].filter(Boolean).join(" ") || "0";
  };

  const show = (a, b) => {
    mark ??= svg.appendChild(document.createElementNS("http://www.w3.org/2000/svg", "rect"));
    const box = whole.getBBox();
    mark.setAttribute("class", "defect");
    mark.setAttribute("fill", "none");
    mark.setAttribute("stroke", "currentColor");
    mark.setAttribute("x", box.x + Math.min(a.x, b.x) * box.width);
    mark.setAttribute("y", box.y + Math.min(a.y, b.y) * box.height);
    mark.setAttribute("width", Math.max(2, Math.abs(a.x - b.x) * box.width));
    mark.setAttribute("height", Math.max(2, Math.abs(a.y - b.y) * box.height));
  };

  const emptyRow = () =>
    [...document.querySelectorAll("[data-flaw-row]")].find((row) => !row.querySelector('[name$="-length"]').value);

  const fill = (row, a, b) => {
    for (const [axis, start, extent] of [["x", "x", "length"], ["y", "y", "width"]]) {
      const from = Math.min(inUnits(Math.min(a[axis], b[axis]), axis), most(axis) - 1 / steps);
      const to = Math.min(Math.max(inUnits(Math.max(a[axis], b[axis]), axis), from + 1 / steps), most(axis));
      row.querySelector(`[name$="-${start}"]`).value = asText(from);
      row.querySelector(`[name$="-${extent}"]`).value = asText(Math.round((to - from) * steps) / steps);
    }
    row.querySelector('[name$="-why"]').focus();
  };

  svg.addEventListener("click", (event) => {
    const here = at(event);
    if (first === null) {
      first = here;
      show(here, here);
      return;
    }
    const row = emptyRow();
    show(first, here);
    if (row) fill(row, first, here);
    first = null;
    mark = null;
  });
})();
