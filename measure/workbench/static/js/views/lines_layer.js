// @ts-check
/** Levels and jambs that can be taken hold of, over the elevation on the wall; and places as picked. Effect. */

import { h, s } from "../dom.js";
import { LEAST_MOVE_MM, keyOf, lineName } from "../edits/lines.js";
import { modelSizeText, trueSizeText } from "../format.js";

/** @typedef {import("../edits/lines.js").Line} Line */

export function makeLinesLayer() {
  const ghost = s("g", { class: "ghost", "aria-hidden": "true" });
  const holds = s("g", {});
  const tag = s("g", { class: "label line-tag", "aria-hidden": "true" });
  const el = s("g", {}, ghost, holds, tag);
  const said = h("p", { class: "unseen", role: "status" });
  /** @type {Map<string, SVGElement>} */
  const shown = new Map();

  return {
    el,
    said,
    /**
     * @param {object} what
     * @param {import("../tools/on_lines.js").LinesTool} what.tool @param {any} what.drawn
     * @param {any} what.face @param {import("../store.js").State["unit"]} what.unit @param {number} what.denominator
     * @param {import("../view_transform.js").View} what.view @param {{width: number, height: number}} what.size
     */
    draw({ tool, drawn, face, unit, denominator, view, size }) {
      const on = tool.active();
      drawGhost(on && drawn.ghostOn ? drawn.ghost ?? [] : [], view);
      const lines = on ? /** @type {Line[]} */ (drawn.lines) : [];
      const held = on ? tool.held : null;
      const seen = new Set();
      for (const line of lines) {
        const key = keyOf(line);
        if (seen.has(key)) continue;
        seen.add(key);
        let node = shown.get(key);
        if (!node) {
          node = s("g", { "data-line": key, tabindex: "0", role: "slider" }, s("path", { class: "halo" }), s("path", { class: "stroke" }), s("rect", { class: "dot", x: -4, y: -4, width: 8, height: 8 }), s("circle", { class: "focus", r: 11 }));
          shown.set(key, node);
          holds.append(node);
        }
        const mine = held?.line && keyOf(held.line) === key;
        const now = mine ? { ...line, chart_mm: held.line.chart_mm + held.at_mm - held.line.at_mm } : line;
        const pieces = tool.piecesOf(now).filter((_, i) => !mine || held.members.includes(now.owners[i]));
        const d = pieces.map(([a, b]) => long(a, b, line.what)).join("");
        for (const path of node.querySelectorAll("path")) path.setAttribute("d", d);
        const [a] = pieces[0] ?? [[0, 0]];
        const at = line.what === "level" ? [Math.max(54, a[0]), a[1]] : [a[0], Math.min(size.height - 10, a[1])];
        for (const sign of node.querySelectorAll(".dot, .focus")) sign.setAttribute("transform", `translate(${at[0].toFixed(1)} ${at[1].toFixed(1)})`);
        const chosen = drawn.line === key;
        node.setAttribute("class", `hold ${line.what} ${line.fixed ? "fixed" : ""} ${line.moved ? "moved" : ""} ${chosen || mine ? "chosen" : ""} ${mine && held.fault ? "bad" : ""} ${mine && held.onto ? "snapped" : ""}`);
        const value = mine ? held.at_mm : line.at_mm;
        node.setAttribute("aria-orientation", line.what === "level" ? "vertical" : "horizontal");
        node.setAttribute("aria-valuenow", value.toFixed(1));
        node.setAttribute("aria-valuetext", `${trueSizeText(value, null, unit)} ${line.what === "level" ? "above the datum" : "from the left edge"}${line.fixed ? ", fixed" : line.moved ? ", moved" : ""}`);
        node.setAttribute("aria-label", `${lineName(line, face)}. Arrows move it, Page Up and Page Down put it onto the next line, Enter puts it down.`);
      }
      for (const [key, node] of shown) if (!seen.has(key)) { node.remove(); shown.delete(key); }
      drawTag(held, lines, { tool, drawn, face, unit, denominator, size });
    },
  };

  /** A piece at least 24 px long, so that it can be seen and held. @param {number[]} a @param {number[]} b @param {"level" | "plumb"} what */
  function long(a, b, what) {
    const along = what === "level" ? 0 : 1;
    const more = Math.max(0, (24 - Math.abs(b[along] - a[along])) / 2);
    const [low, high] = a[along] <= b[along] ? [a, b] : [b, a];
    const ends = along === 0 ? [[low[0] - more, low[1]], [high[0] + more, high[1]]] : [[low[0], low[1] - more], [high[0], high[1] + more]];
    return `M${ends.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
  }

  /** @param {string[]} paths @param {import("../view_transform.js").View} view */
  function drawGhost(paths, view) {
    ghost.replaceChildren(...paths.map((d) => s("path", { d, "vector-effect": "non-scaling-stroke" })));
    ghost.setAttribute("transform", `translate(${view.dx} ${view.dy}) scale(${view.scale} ${-view.scale})`);
  }

  /** What the line in hand comes to, beside it. @param {import("../tools/on_lines.js").Held | null} held @param {Line[]} lines @param {any} how */
  function drawTag(held, lines, { tool, drawn, face, unit, denominator, size }) {
    const line = held?.line ?? lines.find((one) => keyOf(one) === drawn?.line);
    if (!line) { tag.replaceChildren(); said.replaceChildren(drawn?.said ?? ""); return; }
    const at_mm = held?.at_mm ?? line.at_mm;
    const by = at_mm - line.measured_mm;
    const sign = by >= 0 ? "+" : "−";
    const moved = Math.abs(by) < LEAST_MOVE_MM ? "as measured" : `${sign}${trueSizeText(Math.abs(by), null, unit)}, ${sign}${modelSizeText(Math.abs(by) / denominator)} on the model`;
    const rows = held?.fault || drawn.said ? [`! ${held?.fault || drawn.said}`] : [`${held?.onto ? `on the line of ${lineName(held.onto, face)}` : lineName(line, face)}: ${trueSizeText(at_mm, null, unit)}`, moved];
    const width = Math.min(size.width - 60, Math.max(...rows.map((row) => row.length)) * 6.9 + 14);
    const height = rows.length * 18 + 4;
    const [[a]] = tool.piecesOf({ ...line, chart_mm: line.chart_mm + at_mm - line.at_mm });
    // on the side of the wall, so that it never covers the opening that it names
    const side = keyOf(line).split(".").pop();
    const before = side === "left" ? -width - 12 : 12;
    const x = Math.max(50, Math.min(size.width - width - 4, line.what === "level" ? a[0] : a[0] + before));
    const y = Math.max(4, Math.min(size.height - height - 4, line.what === "level" ? (side === "sill" ? a[1] + 10 : a[1] - height - 10) : a[1] - height - 10));
    tag.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    tag.setAttribute("class", `label line-tag ${held?.fault || drawn.said ? "bad" : ""}`);
    tag.replaceChildren(s("rect", { width, height }), ...rows.map((row, i) => s("text", { x: 7, y: 11 + 18 * i, class: i ? "" : "strong" }, row)));
    said.replaceChildren(held ? rows.join(", ") : (drawn.said ?? ""));
  }
}
