// Rows of a table put in order by dragging their handle, or with the arrow keys on it. Their numbers follow: the
// form works by those alone, and without this script they are typed.
(() => {
  "use strict";

  const number = (row) => row.querySelector('[name^="order_"]');
  const within = (row) => row.querySelector('[name^="within_"]')?.value ?? "";
  const rowOf = (event) => event.target.closest("[data-drag-handle]")?.closest("tr");

  // Rows of one group share their numbers out anew, in the order they stand in; other rows keep theirs.
  const renumber = (body, moved) => {
    const rows = [...body.rows].filter((row) => within(row) === within(moved));
    const numbers = rows.map((row, place) => Number(number(row).value) || place + 1).sort((a, b) => a - b);
    let last = 0;
    rows.forEach((row, place) => {
      last = Math.max(numbers[place], last + 1); // no two of them the same
      number(row).value = last;
    });
  };

  const move = (row, to, after) => {
    if (to === row) return;
    to[after ? "after" : "before"](row);
    renumber(row.parentElement, row);
  };

  const follow = (body, row, y) => {
    const over = [...body.rows].find((other) => {
      const box = other.getBoundingClientRect();
      return y >= box.top && y < box.bottom;
    });
    if (!over || over === row) return;
    const box = over.getBoundingClientRect();
    const isBelow = row.rowIndex < over.rowIndex;
    const isPast = isBelow ? y > box.top + box.height / 2 : y < box.top + box.height / 2;
    if (isPast) move(row, over, isBelow);
  };

  document.querySelectorAll("[data-drag-order]").forEach((body) => {
    let dragged = null;

    body.addEventListener("pointerdown", (event) => {
      dragged = rowOf(event);
      if (!dragged) return;
      event.preventDefault();
      event.target.closest("[data-drag-handle]").focus();
      body.setPointerCapture(event.pointerId);
      dragged.dataset.dragged = "";
    });
    body.addEventListener("pointermove", (event) => {
      if (dragged) follow(body, dragged, event.clientY);
    });
    const drop = () => {
      if (dragged) delete dragged.dataset.dragged;
      dragged = null;
    };
    body.addEventListener("pointerup", drop);
    body.addEventListener("pointercancel", drop);

    body.addEventListener("keydown", (event) => {
      const row = rowOf(event);
      const to = { ArrowUp: row?.previousElementSibling, ArrowDown: row?.nextElementSibling }[event.key];
      if (!row || !to) return;
      event.preventDefault();
      move(row, to, event.key === "ArrowDown");
      row.querySelector("[data-drag-handle]").focus();
    });
  });
})();
