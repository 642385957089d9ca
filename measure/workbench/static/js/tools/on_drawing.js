// @ts-check
/**
 * What the elevation over the wall takes from the hand before picks do: handles at openings while
 * they are out, else its levels and jambs. Effect.
 */

/** @param {import("./on_handles.js").HandlesTool} handles @param {import("./on_lines.js").LinesTool} lines @param {import("../store.js").Store} store */
export function workOnDrawing(handles, lines, store) {
  const ofPath = (/** @type {string} */ path) => (handles.owns(path) ? handles : lines);
  const lineOf = (/** @type {Event} */ event) => /** @type {Element} */ (event.target).closest?.("[data-line]")?.getAttribute("data-line");
  return {
    owns: (/** @type {string} */ path) => handles.owns(path) || lines.isLine(path),
    /** What a pointer there would take hold of, as a path; while handles are out nothing else is held. @param {[number, number]} at */
    near: (at) => (handles.active() ? handles.near(at) : lines.near(at)),
    ofPath,
    /** @param {[number, number]} at @returns {boolean} whether a click there is taken */
    clickAt: (at) => handles.clickAt(at),
    /** @param {[number, number]} at what the pointer looks like there, beside anything held; null: as for picks */
    cursorAt: (at) => (handles.active() ? (handles.overOpening(at) ? "pointer" : "") : null),
    letGo: () => lines.chooseNone(),
    /** @param {KeyboardEvent} event @returns {boolean} */
    onKey(event) {
      if (handles.onKey(event)) return true;
      const line = lineOf(event) ?? (lines.held && store.state.drawn.line);
      return Boolean(line) && lines.onKey(event, line);
    },
    /** @param {FocusEvent} event */
    focusIn(event) { const line = lineOf(event); if (line && lines.active()) lines.choose(line); },
    /** @param {FocusEvent} event */
    focusOut(event) { if (lineOf(event)) lines.left(); },
  };
}
/** @typedef {ReturnType<typeof workOnDrawing>} DrawingTool */
