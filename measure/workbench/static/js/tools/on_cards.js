// @ts-check
/**
 * Moving parts on and between sheets of card, by pointer, finger and keys. A part is lifted,
 * carried, and put down; only what may lie there stays. Effect.
 *
 * @typedef {import("../edits/pins.js").LaidPart} LaidPart
 * @typedef {import("../edits/pins.js").LaidSheet} LaidSheet
 * @typedef {{part: LaidPart, sheet: LaidSheet, fault: string, put: boolean}} Lifted
 */

import { drawnIn, faultOf, nameOf, sheetsOf, shifted, turnedOn } from "../edits/pins.js";
import { arrowStep } from "../keys.js";

const SLOP_PX = 3;

/**
 * @param {object} given
 * @param {SVGSVGElement} given.stage the sheet shown; parts on it carry `data-part`
 * @param {HTMLElement} given.strip of small sheets, each with `data-sheet`
 * @param {() => any} given.told the sheets as they were laid
 * @param {() => LaidSheet} given.shown
 * @param {(at: [number, number]) => [number, number] | null} given.toSheet from the screen to millimetres of the free area
 * @param {(lifted: Lifted | null, say?: string) => void} given.show
 * @param {(part: LaidPart, sheet: LaidSheet) => void} given.keep
 * @param {(part: LaidPart) => void} given.release
 * @param {(part: LaidPart) => void} given.leave it is not to be cut
 * @param {(name: string) => void} given.choose
 */
export function workOnCards({ stage, strip, told, shown, toSheet, show, keep, release, leave, choose }) {
  /** @type {Lifted | null} */
  let lifted = null;
  /** @type {{id: number, at: [number, number], off: [number, number], part: LaidPart} | null} */
  let press = null;

  /** @param {EventTarget | null} target @returns {LaidPart | undefined} */
  function partAt(target) {
    const name = /** @type {Element} */ (target)?.closest?.("[data-part]")?.getAttribute("data-part");
    return shown().parts.find((part) => nameOf(part) === name);
  }

  /** @param {LaidPart} part @param {LaidSheet} sheet */
  function carry(part, sheet) {
    const at = drawnIn(part, sheet);
    lifted = { part: at, sheet, fault: faultOf(at, sheet, told().spacing_mm), put: false };
    show(lifted);
  }

  function giveUp(say = "") {
    press = null;
    lifted = null;
    show(null, say);
  }

  function putDown() {
    press = null;
    if (!lifted) return;
    if (lifted.fault) { giveUp(`${lifted.fault} It stays where it was.`); return; }
    const { part, sheet } = lifted;
    show({ ...lifted, put: true });
    lifted = null;
    keep(part, sheet);
  }

  stage.addEventListener("pointerdown", (event) => {
    const part = event.button === 0 ? partAt(event.target) : undefined;
    const at = toSheet([event.clientX, event.clientY]);
    if (!part || !at || press) return;
    press = { id: event.pointerId, at: [event.clientX, event.clientY], off: [part.left_mm - at[0], part.bottom_mm - at[1]], part };
    stage.setPointerCapture(event.pointerId);
    choose(nameOf(part));
    event.preventDefault();
  });
  // a finger on a part carries it; anywhere else it moves the sheet
  stage.addEventListener("touchstart", (event) => { if (partAt(event.target)) event.preventDefault(); }, { passive: false });
  stage.addEventListener("pointermove", (event) => {
    if (!press || event.pointerId !== press.id) return;
    if (!lifted && Math.hypot(event.clientX - press.at[0], event.clientY - press.at[1]) < SLOP_PX) return;
    const part = lifted?.part ?? press.part;
    const over = document.elementFromPoint(event.clientX, event.clientY);
    const name = strip.contains(over) ? over?.closest("[data-sheet]")?.getAttribute("data-sheet") : null;
    let sheet = lifted?.sheet ?? shown();
    if (name) {
      const other = [...told().sheets, ...sheetsOf(told().sheets, sheet.material).slice(-1)].find((one) => `${one.material}/${one.number}` === name);
      if (other && other.material !== sheet.material) { show(lifted, `${part.mark} is cut from ${sheet.name.split(": ")[1]}, so it cannot lie there.`); return; }
      if (other) sheet = other;
    }
    const at = toSheet([event.clientX, event.clientY]);
    if (at) carry({ ...part, left_mm: at[0] + press.off[0], bottom_mm: at[1] + press.off[1] }, sheet);
  });
  stage.addEventListener("pointerup", (event) => { if (press?.id === event.pointerId) putDown(); });
  stage.addEventListener("pointercancel", (event) => { if (press?.id === event.pointerId) giveUp(); });

  stage.addEventListener("keydown", (event) => {
    const part = lifted?.part ?? partAt(event.target);
    if (!part) return;
    const sheet = lifted?.sheet ?? shown();
    const by = arrowStep(event);
    if (by) carry(shifted(part, by[0], -by[1]), sheet);
    else if (event.key === "PageDown" || event.key === "PageUp") {
      const own = sheetsOf(told().sheets, sheet.material);
      const next = own[own.findIndex((one) => one.number === sheet.number) + (event.key === "PageDown" ? 1 : -1)];
      if (next) carry(part, next);
    } else if (event.key.toLowerCase() === "t" && !event.ctrlKey && !event.metaKey) turn(part);
    else if ((event.key === "Enter" || event.key === " ") && lifted) putDown();
    else if (event.key === "Escape" && (lifted || press)) giveUp();
    else if ((event.key === "Delete" || event.key === "Backspace") && !lifted) release(part);
    else if (event.key.toLowerCase() === "o" && !event.ctrlKey && !event.metaKey && !event.altKey && !lifted) leave(part);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  stage.addEventListener("focusin", (event) => { const part = partAt(event.target); if (part && !lifted) choose(nameOf(part)); });
  // left while in hand: what may lie there stays
  stage.addEventListener("focusout", (event) => { if (lifted && !press && !stage.contains(/** @type {Node | null} */ (event.relatedTarget)) && event.relatedTarget) putDown(); });

  /** @param {LaidPart} part */
  function turn(part) {
    if (part.turns.length < 2) { show(lifted, `${part.mark} is printed, so it stays upright.`); return; }
    carry(turnedOn(part), lifted?.sheet ?? shown());
  }

  return { turn, putDown, giveUp };
}
