// @ts-check
/** Marks over a sheet: lines, handles, signs, labels, cross-hair, ± map. Keyed, so focus stays. Effect. */

import { s } from "../dom.js";
import { boxOf, placeLabels } from "../geometry.js";
import { screenFromSheet } from "../view_transform.js";

/** @typedef {import("../marks.js").Mark} Mark */

/** @param {readonly (readonly number[])[]} points @param {boolean} closed */
function pathOf(points, closed) {
  if (!points.length) return "";
  return `M${points.map((p) => `${p[0].toFixed(1)} ${p[1].toFixed(1)}`).join("L")}${closed ? "Z" : ""}`;
}

/** @param {string} name of the sheet, said aloud */
export function makeOverlay(name) {
  const marksLayer = s("g");
  const draftLayer = s("g");
  const labelLayer = s("g", { "aria-hidden": "true" });
  const crossLayer = s("g", { class: "cross", "aria-hidden": "true" });
  const mapLayer = s("g", { class: "plusminus", "aria-hidden": "true" });
  const drawnLayer = s("g", { class: "drawn", "aria-hidden": "true" });
  const foundLayer = s("g", { class: "offered", "aria-hidden": "true" });
  const jointLayer = s("g", { "aria-hidden": "true" });
  const solidLayer = s("g", { class: "solids", "aria-hidden": "true" });
  const el = s("svg", { class: "over", role: "group", "aria-label": `Marks on the ${name}` }, solidLayer, drawnLayer, mapLayer, jointLayer, marksLayer, foundLayer, draftLayer, labelLayer, crossLayer);
  /** @type {Map<string, {group: SVGElement, halo: SVGElement, stroke: SVGElement, sign: SVGElement, handles: Map<string, SVGElement>}>} */
  const shown = new Map();

  /** @param {string} path */
  function makeHandle(path) {
    return s("g", { class: "handle", tabindex: "-1", role: "button", "data-pick": path },
      s("circle", { class: "focus", r: 13 }), s("circle", { class: "rim", r: 5 }), s("circle", { class: "dot", r: 5 }), s("circle", { class: "pin", r: 1 }));
  }

  /** @param {string} key */
  function makeMark(key) {
    const halo = s("path", { class: "halo" });
    const stroke = s("path", { class: "stroke" });
    const sign = s("g", { class: "sign" }, s("path", { d: "M0 -9L10 9H-10Z" }), s("text", { y: 6 }, "!"));
    const group = s("g", { "data-mark": key }, halo, stroke);
    marksLayer.append(group);
    return { group, halo, stroke, sign, handles: new Map() };
  }

  return {
    el,
    /**
     * @param {object} what
     * @param {readonly Mark[]} what.marks @param {import("../view_transform.js").View} what.view
     * @param {{width: number, height: number}} what.size
     * @param {string | null} what.chosen @param {string | null} what.pick
     * @param {string} what.face marks of other faces are faded and have no handles
     * @param {Map<string, import("../suspects.js").Doubt>} what.suspects the worst first
     * @param {(mark: Mark) => {name: string, size: string}} what.label
     * @param {string | null} what.hovered
     * @param {readonly import("../geometry.js").Box[]} what.blocked where no label may stand
     */
    draw({ marks, view, size, chosen, pick, face, suspects, label, hovered, blocked }) {
      const seen = new Set();
      /** @type {any[]} */
      const labels = [];
      /** @type {any[]} */
      const openings = [];
      for (const mark of marks) {
        seen.add(mark.key);
        const entry = shown.get(mark.key) ?? makeMark(mark.key);
        shown.set(mark.key, entry);
        const mine = mark.face === face;
        const isChosen = mark.key === chosen;
        entry.group.setAttribute("class", `${mark.group} ${mark.suspect ? "suspect" : ""} ${isChosen || mark.key === hovered ? "chosen" : ""} ${mine ? "" : "other"}`);
        const line = mark.line.map((p) => screenFromSheet(view, p));
        const d = line.length > 1 ? pathOf(line, mark.closed) : "";
        entry.halo.setAttribute("d", d);
        entry.stroke.setAttribute("d", d);
        const told = label(mark);
        drawHandles(entry, mark, { view, mine, isChosen, pick, suspects, told, quiet: !(isChosen || mark.key === hovered || mark.group === "frame") });
        if (mark.suspect && line.length) {
          // suspects come worst first: the sign stands at the worst pick of this thing
          const bad = [...suspects.keys()].map((path) => mark.picks.find((p) => p.path === path)).find(Boolean) ?? mark.picks[0];
          const doubt = suspects.get(bad?.path) ?? suspects.get(mark.key);
          /** @type {Element} */ (entry.sign.lastElementChild).textContent = doubt?.open ? "?" : "!";
          const at = bad ? screenFromSheet(view, bad.point) : line[0];
          entry.sign.setAttribute("transform", `translate(${at[0] + 16} ${at[1] - 16})`);
          if (!entry.sign.parentNode) entry.group.append(entry.sign);
        } else entry.sign.remove();
        const first = isChosen || mark.key === hovered;
        const wants = first || mark.group === "measures" || mark.group === "references";
        if (mark.kind === "opening" && line.length) openings.push(boxOf(line));
        if (wants && mine && line.length) labels.push({ told, box: boxOf(line), first });
      }
      for (const [key, entry] of shown) if (!seen.has(key)) { entry.group.remove(); shown.delete(key); }
      drawLabels(labels, size, openings, blocked);
    },

    /** @param {readonly (readonly number[])[]} points on the screen @param {readonly number[] | null} pointer @param {boolean} closed */
    drawDraft(points, pointer, closed) {
      if (!points.length && !pointer) { draftLayer.replaceChildren(); return; }
      const line = pointer ? [...points, pointer] : points;
      const d = pathOf(line, closed && line.length > 2);
      draftLayer.setAttribute("class", "draft measures");
      draftLayer.replaceChildren(s("path", { class: "halo", d }), s("path", { class: "stroke", d }),
        ...points.map((p) => s("g", { transform: `translate(${p[0]} ${p[1]})`, class: "handle" }, s("circle", { class: "rim", r: 5 }), s("circle", { class: "dot", r: 5 }), s("circle", { class: "pin", r: 1 }))));
    },

    /** What the program offers and nobody took yet: dashed. @param {readonly {points: readonly (readonly number[])[], closed: boolean}[]} offers on the screen */
    drawOffers(offers) {
      let layer = el.querySelector("g.aim");
      if (!offers.length) { layer?.remove(); return; }
      if (!layer) { layer = s("g", { class: "offered aim" }); el.insertBefore(layer, labelLayer); }
      layer.replaceChildren(...offers.flatMap((o) => [s("path", { class: "halo", d: pathOf(o.points, o.closed) }), s("path", { class: "stroke", d: pathOf(o.points, o.closed) })]));
    },

    /** @param {readonly number[] | null} at on the screen @param {{width: number, height: number}} size */
    drawCross(at, size) {
      if (!at || !Number.isFinite(at[0]) || !Number.isFinite(at[1])) { crossLayer.replaceChildren(); return; }
      const [x, y] = [Math.round(at[0]) + 0.5, Math.round(at[1]) + 0.5];
      const gap = 9;
      const parts = [[0, y, x - gap, y], [x + gap, y, size.width, y], [x, 0, x, y - gap], [x, y + gap, x, size.height]];
      crossLayer.replaceChildren(...["halo", "line"].flatMap((cls) => parts.map(([x1, y1, x2, y2]) => s("line", { class: cls, x1, y1, x2, y2 }))));
    },

    /** @param {readonly {at: readonly number[], text: string, knife: boolean}[]} spots on the screen */
    drawMap(spots) {
      mapLayer.replaceChildren(...spots.map(({ at, text, knife }) => s("g", { transform: `translate(${at[0]} ${at[1]})` },
        s("circle", { r: 15, class: knife ? "knife" : "" }), s("text", {}, text))));
    },

    /** What was found and nobody took yet: dashed. @param {readonly {points: readonly (readonly number[])[], closed: boolean}[]} found in sheet coordinates @param {import("../view_transform.js").View} view */
    drawFound(found, view) {
      foundLayer.replaceChildren(...found.flatMap((one) => {
        const d = pathOf(one.points.map((p) => screenFromSheet(view, p)), one.closed);
        return [s("path", { class: "halo", d }), s("path", { class: "stroke", d })];
      }));
    },

    /** Bed joints of the chosen courses, dashed where they are not sure. @param {readonly (readonly (readonly number[])[])[]} lines in sheet coordinates @param {boolean} sure @param {import("../view_transform.js").View} view */
    drawJoints(lines, sure, view) {
      jointLayer.setAttribute("class", `joints ${sure ? "" : "offered"}`);
      const d = lines.map((line) => pathOf(line.map((p) => screenFromSheet(view, p)), false)).join("");
      jointLayer.replaceChildren(...(d ? [s("path", { class: "halo", d, style: { strokeWidth: "2.5" } }), s("path", { class: "stroke", d, style: { strokeWidth: "1.25" } })] : []));
    },

    /** The solved faces over the photo. @param {readonly {line: readonly (readonly number[])[], mine: boolean}[]} lines in sheet coordinates @param {import("../view_transform.js").View} view */
    drawSolids(lines, view) {
      if (!lines.length) { solidLayer.replaceChildren(); return; }
      const d = (/** @type {boolean} */ mine) => lines.filter((one) => one.mine === mine).map((one) => pathOf(one.line, false)).join("");
      solidLayer.replaceChildren(...[["halo", true], ["line mine", true], ["line", false]].map(([cls, mine]) => s("path", { class: cls, d: d(/** @type {boolean} */ (mine)), "vector-effect": "non-scaling-stroke" })));
      solidLayer.setAttribute("transform", `translate(${view.dx} ${view.dy}) scale(${view.scale})`);
    },

    /** The drawing in chart millimetres, laid over the wall; what was not measured dashed. @param {string[]} paths @param {readonly string[]} inferred of them @param {import("../view_transform.js").View | null} view */
    drawElevation(paths, inferred, view) {
      if (!view || !paths.length) { drawnLayer.replaceChildren(); return; }
      if (drawnLayer.childElementCount !== paths.length * 2) {
        drawnLayer.replaceChildren(...["halo", "line"].flatMap((cls) => paths.map((d) => s("path", { class: cls, d, "vector-effect": "non-scaling-stroke" }))));
      } else {
        [...drawnLayer.children].forEach((node, i) => node.setAttribute("d", paths[i % paths.length]));
      }
      const dashed = new Set(inferred);
      [...drawnLayer.children].slice(paths.length).forEach((node, i) => node.setAttribute("class", dashed.has(paths[i]) ? "line inferred" : "line"));
      drawnLayer.setAttribute("transform", `translate(${view.dx} ${view.dy}) scale(${view.scale} ${-view.scale})`);
    },

    /** @param {string} path of a pick */
    focusHandle(path) {
      const handle = el.querySelector(`[data-pick="${CSS.escape(path)}"]`);
      if (handle instanceof SVGElement) handle.focus({ preventScroll: true });
    },
  };

  /** @param {any} entry @param {Mark} mark @param {any} how */
  function drawHandles(entry, mark, { view, mine, isChosen, pick, suspects, told, quiet }) {
    const seen = new Set();
    mark.picks.forEach((one, i) => {
      if (!mine) return;
      seen.add(one.path);
      let handle = entry.handles.get(one.path);
      if (!handle) {
        handle = makeHandle(one.path);
        entry.handles.set(one.path, handle);
        entry.group.append(handle);
      }
      const [x, y] = screenFromSheet(view, one.point);
      handle.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
      handle.setAttribute("class", `handle ${quiet && !suspects.has(one.path) ? "quiet" : ""} ${one.path === pick ? "picked" : ""} ${suspects.has(one.path) ? "bad" : ""}`);
      handle.setAttribute("tabindex", isChosen || i === 0 ? "0" : "-1");
      const size = told.size ? `, ${told.size}` : "";
      handle.setAttribute("aria-label", `${mark.name}, pick ${i + 1} of ${mark.picks.length}${size}${suspects.has(one.path) ? ", to look at" : ""}`);
    });
    for (const [path, handle] of entry.handles) if (!seen.has(path)) { handle.remove(); entry.handles.delete(path); }
  }

  /**
   * What is chosen or hovered says its name and size; anything else its size alone, and only
   * where there is room for it beside the thing.
   * @param {any[]} wanted @param {{width: number, height: number}} size @param {any[]} openings
   * @param {readonly import("../geometry.js").Box[]} blocked
   */
  function drawLabels(wanted, size, openings, blocked) {
    const texts = wanted
      .map(({ told, box, first }) => {
        const name = first || !told.size ? shortened(told.name) : "";
        return { name, size: told.size, box, first, insists: first, width: (name.length + told.size.length + (name && told.size ? 1 : 0)) * 7.2 + 14, height: 20 };
      })
      .filter(({ width, box, first }) => first || (width < 1.25 * Math.max(box.width, box.height * 0.6) && box.width < 4 * width))
      .sort((a, b) => Number(b.first) - Number(a.first));
    const places = placeLabels(texts, size, 6, openings, blocked);
    labelLayer.replaceChildren(...texts.flatMap(({ name, size: sizeText, width, height }, i) => {
      const at = places[i];
      if (!at) return [];
      return [s("g", { class: "label", transform: `translate(${at[0].toFixed(1)} ${at[1].toFixed(1)})` },
        s("rect", { width, height }),
        s("text", { x: 6, y: height / 2 + 0.5 }, name ? s("tspan", { class: "strong" }, name) : "", sizeText ? s("tspan", { dx: name ? 6 : 0 }, sizeText) : ""))];
    }));
  }
}

/** @param {string} name */
function shortened(name) {
  return name.length > 26 ? `${name.slice(0, 25)}…` : name;
}
