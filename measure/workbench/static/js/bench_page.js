// @ts-check
/** The bench: sheets, margins, foot and keys, put together once a survey is open. Effect. */

import { keepDrawingFresh } from "./drawn.js";
import { actOf } from "./keys.js";
import { mountFoot } from "./panels/foot.js";
import { mountJob } from "./panels/job.js";
import { mountSizes } from "./panels/size_table.js";
import { keepSolidsFresh } from "./solids.js";
import { mountCardSheets } from "./views/card_sheets.js";
import { mountPair } from "./views/pair.js";

const PARTS = ["head", "job", "work", "sizes", "foot"];

/** @param {import("./main.js").Context} context @param {HTMLElement} work */
export function mountBench(context, work) {
  context.sheets = mountPair(context, work);
  mountCardSheets(context, work);
  mountJob(context);
  mountSizes(context);
  mountFoot(context);
  keepDrawingFresh(context.store);
  keepSolidsFresh(context.store);
  addEventListener("keydown", (event) => onKey(context, event));
}

/** @param {boolean} back */
function nextPart(back) {
  const now = PARTS.findIndex((id) => document.getElementById(id)?.contains(document.activeElement));
  for (let i = 1; i <= PARTS.length; i += 1) {
    const el = document.getElementById(PARTS[(now + (back ? -i : i) + 2 * PARTS.length) % PARTS.length]);
    const target = el?.querySelector(el.id === "work" ? ".pane" : "button, input, select, a[href]");
    if (target instanceof HTMLElement && target.offsetParent) { target.focus(); return; }
  }
}

/** @param {import("./main.js").Context} context @param {KeyboardEvent} event */
function onKey(context, event) {
  const { store, bench, actions } = context;
  if (store.state.place !== "bench" || event.defaultPrevented) return;
  const typing = event.target instanceof HTMLElement && event.target.matches("input:not([type=checkbox]), textarea, select");
  const act = actOf(event);
  const withCtrl = event.ctrlKey || event.metaKey;
  if (!act || (typing && event.key !== "F6")) return;
  if (!withCtrl && event.key.length === 1 && !store.state.letters && event.key !== "?") return;
  event.preventDefault();
  const [word, group, kind] = act.split(":");
  if (word === "undo") bench.undo();
  else if (word === "redo") bench.redo();
  else if (word === "keys") store.set({ side: store.state.side === "keys" ? "sizes" : "keys" });
  else if (word === "next-part") nextPart(event.shiftKey);
  else if (word.startsWith("show-")) {
    if (word === "show-drawing") actions.turnDrawing();
    else actions.showSheets(/** @type {any} */ (word.slice(5)));
  } else if (word === "handles") context.sheets?.handles.turn();
  else if (word === "map") store.set({ map: !store.state.map });
  else if (word === "tool" && group === "known") { store.set({ open: "known" }); document.getElementById("size-filter")?.focus(); }
  else if (word === "tool") bench.take(/** @type {any} */ (group), kind ?? "");
}
