/* On the ladder of techniques: the one pointed at or focused lights up with all that leads to it
   and what it leads to next. Without this script the drawing is the same, unlit. */
"use strict";

const ladder = document.querySelector(".ladder svg");
const rungs = new Map([...ladder.querySelectorAll(".rung")].map((rung) => [rung.dataset.technique, rung]));
const strands = [...ladder.querySelectorAll(".strands path")];

/* The strands that lead to a technique, all the way from the first step. */
function before(technique, found = new Set()) {
  for (const strand of strands) {
    if (strand.dataset.upper === technique && !found.has(strand)) {
      found.add(strand);
      before(strand.dataset.lower, found);
    }
  }
  return found;
}

function trace(technique) {
  const lit = before(technique);
  for (const strand of strands) if (strand.dataset.lower === technique) lit.add(strand);
  const names = new Set([...lit].flatMap((strand) => [strand.dataset.lower, strand.dataset.upper]));
  ladder.classList.toggle("traced", lit.size > 0);
  strands.forEach((strand) => strand.classList.toggle("lit", lit.has(strand)));
  rungs.forEach((rung, name) => rung.classList.toggle("lit", names.has(name)));
}

function follow({ target }) {
  const rung = target.closest(".rung") || document.activeElement.closest(".ladder .rung");
  trace(rung ? rung.dataset.technique : "");
}

/* On the box round the drawing: a drawing that listens to the focus would get it itself. */
["pointerover", "pointerleave", "focusin", "focusout"].forEach((kind) => ladder.parentElement.addEventListener(kind, follow));
document.getElementById("hint").hidden = false;
