// @ts-check
/** Handles at openings over the elevation, what they offer, and what it comes to in words beside them. Effect. */

import { h, s } from "../dom.js";
import { axisName, bayBox, inRows, lengthText, offerSentence, openingName } from "../edits/handles.js";
import { counted, modelSizeText } from "../format.js";

/** Half the side of a handle as drawn. */
const HALF_PX = 10;
/** Widths of a letter, plain and strong. */
const LETTER_PX = 6.4;
const STRONG_PX = 7.5;

/** Signs on the handles: the short strokes that mark an axis of symmetry (ISO 128, from memory), and arrows. */
const SIGNS = { axis: "M-5 -2.5H5M-5 2.5H5", left: "M5 0H-5M-1 -4L-5 0L-1 4", right: "M-5 0H5M1 -4L5 0L1 4" };

export function makeHandlesLayer() {
  const veil = s("rect", { class: "veil" });
  const chosen = s("g", { class: "once-more" });
  const offered = s("g", { class: "offered" });
  const axis = s("path", { class: "axis" });
  const halo = s("path", { class: "halo" });
  const grips = s("g", {});
  const tag = s("g", { "aria-hidden": "true" });
  const el = s("g", { class: "handles" }, veil, chosen, offered, halo, axis, grips, tag);
  const said = h("p", { class: "unseen", role: "status" });
  /** @type {Map<string, SVGElement>} */
  const shown = new Map();

  /** @param {string} which */
  function makeGrip(which) {
    const sign = which === "count" ? s("text", { class: "count" }) : s("path", { class: "sign-of", d: SIGNS[/** @type {"axis"} */ (which)] });
    const node = s("g", { "data-handle": which, tabindex: "0", role: "slider", "aria-orientation": "horizontal" },
      s("rect", { class: "focus", x: -HALF_PX - 4, y: -HALF_PX - 4, width: 2 * HALF_PX + 8, height: 2 * HALF_PX + 8 }), s("rect", { class: "grip", x: -HALF_PX, y: -HALF_PX, width: 2 * HALF_PX, height: 2 * HALF_PX }), sign);
    grips.append(node);
    return node;
  }

  return {
    el,
    said,
    /**
     * @param {object} what
     * @param {import("../tools/on_handles.js").HandlesTool} what.tool @param {import("../tools/on_handles.js").Handles | null} what.handles
     * @param {import("../store.js").State["unit"]} what.unit @param {number} what.denominator
     * @param {import("../view_transform.js").View} what.view @param {{width: number, height: number}} what.size
     */
    draw({ tool, handles, unit, denominator, view, size }) {
      const on = tool.active() && handles?.told;
      if (!on) keepFocus(el);
      el.style.display = on ? "" : "none";
      if (!on || !handles?.told) { said.replaceChildren(); return; }
      const { told, of, held } = handles;
      const place = `translate(${view.dx} ${view.dy}) scale(${view.scale} ${-view.scale})`;
      const outline = (/** @type {number[]} */ [left, low, right, top]) => `M${left} ${low}H${right}V${top}H${left}Z`;
      chosen.setAttribute("transform", place);
      chosen.replaceChildren(...told.openings.filter((one) => of.includes(one.id)).flatMap((one) => ["halo", "stroke"].map((cls) => s("path", { class: cls, d: outline(one.box_mm), "vector-effect": "non-scaling-stroke" }))));
      offered.setAttribute("transform", place);
      const paths = held ? (held.fault ? [] : held.trial?.offered ?? []) : handles.ghost;
      offered.replaceChildren(...["halo", "stroke"].flatMap((cls) => paths.map((d) => s("path", { class: cls, d, "vector-effect": "non-scaling-stroke" }))));

      const bay = held?.kind === "bay";
      const x = tool.axisAt() * view.scale + view.dx;
      const line = bay ? "" : `M${x.toFixed(1)} 0V${size.height}`;
      axis.setAttribute("d", line);
      halo.setAttribute("d", line);
      axis.setAttribute("class", `axis ${held?.kind === "axis" ? (held.fault ? "bad" : held.onto ? "snapped" : "held") : ""}`);
      // the half that is not kept lies under a veil
      const half = held?.kind === "axis" && held.does !== "mirror" && !held.fault ? held.does : null;
      veil.setAttribute("x", half === "left" ? x.toFixed(1) : "0");
      veil.setAttribute("width", String(half === "left" ? Math.max(0, size.width - x) : half ? Math.max(0, x) : 0));
      veil.setAttribute("height", String(size.height));

      const spots = tool.spots();
      for (const { which, at } of spots) {
        const node = shown.get(which) ?? makeGrip(which);
        shown.set(which, node);
        node.setAttribute("transform", `translate(${at[0].toFixed(1)} ${at[1].toFixed(1)})`);
        node.setAttribute("class", `hand-grip ${held ? "held" : ""} ${held?.fault ? "bad" : ""}`);
        aria(node, which, handles, unit);
        if (which === "count") node.querySelector("text")?.replaceChildren(`${held?.kind === "bay" ? held.count : 1}×`);
      }
      for (const [which, node] of shown) if (!spots.some((spot) => spot.which === which)) { keepFocus(node); node.remove(); shown.delete(which); }
      drawTag(handles, spots, { unit, denominator, view, size });
    },
  };

  /** What goes gives the focus to the wall, so that keys still reach it. @param {Element} going */
  function keepFocus(going) {
    if (going.contains(document.activeElement)) document.getElementById("pane-wall")?.focus({ preventScroll: true });
  }

  /** @param {SVGElement} node @param {string} which @param {import("../tools/on_handles.js").Handles} handles @param {import("../store.js").State["unit"]} unit */
  function aria(node, which, { told, of, held }, unit) {
    if (!told) return;
    const names = of.map((id) => openingName(told, id)).join(", ");
    const label = { axis: "Axis to mirror about. Arrows move it, Page Up and Page Down put it onto the next line", count: "How many copies. Plus and minus count", left: `Repeat ${names} to the left. Arrows carry the first copy, plus and minus count`, right: `Repeat ${names} to the right. Arrows carry the first copy, plus and minus count` }[which];
    const value = held?.kind === "axis" ? held.at_mm - told.origin_mm : held ? (which === "count" ? held.count : Math.abs(held.along_mm)) : 0;
    node.setAttribute("aria-label", `${label}. Enter takes what is offered, Escape gives it up.`);
    node.setAttribute("aria-valuenow", value.toFixed(1));
    node.setAttribute("aria-valuetext", held ? offerSentence(held, of, told, null, unit) : "not in hand");
  }

  /** @param {import("../tools/on_handles.js").Handles} handles @param {{which: string, at: number[]}[]} spots @param {any} how */
  function drawTag({ told, of, held, said: words }, spots, { unit, denominator, view, size }) {
    const spot = spots.find((one) => one.which !== "count");
    if (!told || !held || !spot || (held.kind === "bay" && !held.along_mm)) { tag.replaceChildren(); said.replaceChildren(words); return; }
    const rows = held.fault ? inRows(`! ${held.fault}`, Math.max(20, Math.floor((size.width - 120) / LETTER_PX))) : tagRows(held);
    const width = Math.max(...rows.map((row, i) => row.length * (i || held.fault ? LETTER_PX : STRONG_PX))) + 14;
    const height = rows.length * 18 + 4;
    const box = bayBox(told, of);
    const [x0, y0] = spot.at;
    // beside the handle of an axis, where there is room, else over it; below what is repeated, so that it never covers the opening
    const away = HALF_PX + 8;
    const right = x0 + away + width < size.width;
    const beside = right || x0 - away - width > 50;
    const left = !box || held.kind === "axis" ? (right ? x0 + away : beside ? x0 - away - width : x0 - width / 2) : x0 - width / 2;
    const top = !box || held.kind === "axis" ? y0 - (beside ? height / 2 : height + away) : view.dy - box[1] * view.scale + 10;
    const x = Math.max(50, Math.min(size.width - width - 6, left));
    const y = Math.max(4, Math.min(size.height - height - 4, top));
    tag.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    tag.setAttribute("class", `label line-tag ${held.fault ? "bad" : ""}`);
    tag.replaceChildren(s("rect", { width, height }), ...rows.map((row, i) => s("text", { x: 7, y: 11 + 18 * i, class: i || held.fault ? "" : "strong" }, row)));
    said.replaceChildren(held.fault || offerSentence(held, of, told, held.trial, unit));

    /** @param {import("../tools/on_handles.js").Held} now @returns {string[]} */
    function tagRows(now) {
      const at_mm = now.kind === "axis" ? now.at_mm - /** @type {any} */ (told).origin_mm : Math.abs(now.along_mm);
      const model = `${modelSizeText(at_mm / denominator)} on the model`;
      const onto = now.kind === "axis" ? axisName(now.onto, /** @type {any} */ (told)) : now.onto?.name;
      const made = now.trial ? `${counted(now.trial.made.length, "opening")} new` : "…";
      const first = now.kind === "axis" ? `${lengthText(at_mm, unit)} from the left edge` : `${lengthText(at_mm, unit)}, ${model}`;
      return [first, ...(onto ? [onto] : []), now.kind === "axis" ? made : `${counted(now.count, "copy", "copies")}: ${made}`, ...(size.width < 640 ? [] : now.trial?.notes ?? []).flatMap((note) => inRows(note, 54)).slice(0, 4)];
    }
  }
}
