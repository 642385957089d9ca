// @ts-check
/**
 * Mouse, pen and fingers on a sheet, as a small state machine:
 * idle -> pressed -> dragging a pick | moving the view | aiming (finger, pen) -> idle;
 * two fingers always zoom and move. Effect.
 *
 * A mouse places with a click and moves the view with a drag; a finger or pen that has a tool in
 * hand aims while it is down and places when it lifts, so that the loupe can be used.
 */

const CLICK_PX = 4;

/**
 * @typedef {object} PointerHost
 * @property {HTMLElement} pane
 * @property {HTMLElement} sheet
 * @property {() => boolean} hasTool
 * @property {(at: [number, number]) => string | null} pickNear a pick's path under the pointer
 * @property {(at: [number, number], free: boolean) => void} hover pointer moves, nothing pressed
 * @property {() => void} leave
 * @property {(at: [number, number], free: boolean) => void} place
 * @property {(at: [number, number]) => void} click with no tool in hand
 * @property {() => void} doubleClick
 * @property {(path: string) => void} dragStart
 * @property {(at: [number, number]) => void} dragMove where the pick should go
 * @property {(kept: boolean) => void} dragEnd
 * @property {(dx: number, dy: number) => void} pan
 * @property {(factor: number, about: [number, number]) => void} zoom
 * @property {(path: string) => [number, number] | null} pickScreen
 */

/** @param {PointerHost} host */
export function listenToPointer(host) {
  const { pane, sheet } = host;
  /** @type {Map<number, [number, number]>} */
  const down = new Map();
  /** @type {{state: "idle" | "pressed" | "drag" | "pan" | "aim" | "pinch", at: [number, number], path: string | null, off: [number, number], fine: boolean}} */
  let now = idle();
  let spaceHeld = false;

  function idle() {
    return { state: /** @type {const} */ ("idle"), at: /** @type {[number, number]} */ ([0, 0]), path: null, off: /** @type {[number, number]} */ ([0, 0]), fine: true };
  }

  /** @param {PointerEvent | WheelEvent} event @returns {[number, number]} */
  function pointOf(event) {
    const box = pane.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  pane.addEventListener("pointerdown", (event) => {
    const at = pointOf(event);
    down.set(event.pointerId, at);
    pane.setPointerCapture(event.pointerId);
    pane.focus({ preventScroll: true });
    if (down.size === 2) {
      if (now.state === "drag") host.dragEnd(false);
      now = { ...idle(), state: "pinch" };
      host.leave();
      return;
    }
    if (down.size > 2) return;
    const fine = event.pointerType === "mouse";
    const path = host.hasTool() || event.button !== 0 || spaceHeld ? null : host.pickNear(at);
    const from = path && host.pickScreen(path);
    now = { state: "pressed", at, path, off: from ? [from[0] - at[0], from[1] - at[1]] : [0, 0], fine };
    if (event.button !== 0 || spaceHeld) setPan();
    else if (path) host.dragStart(path);
    else if (!fine && host.hasTool()) { now.state = "aim"; host.hover(at, event.altKey); }
    event.preventDefault();
  });

  function setPan() {
    now.state = "pan";
    sheet.classList.add("panning");
  }

  pane.addEventListener("pointermove", (event) => {
    const at = pointOf(event);
    const before = down.get(event.pointerId);
    if (!before) { if (event.pointerType !== "touch") host.hover(at, event.altKey); return; }
    down.set(event.pointerId, at);
    if (now.state === "pinch") { pinch(event.pointerId, before, at); return; }
    if (now.state === "aim") { host.hover(at, event.altKey); return; }
    if (now.state === "pressed" && Math.hypot(at[0] - now.at[0], at[1] - now.at[1]) > (now.path ? 2 : CLICK_PX)) {
      if (now.path) now.state = "drag";
      else setPan();
    }
    if (now.state === "pan") host.pan(at[0] - before[0], at[1] - before[1]);
    if (now.state === "drag") host.dragMove([at[0] + now.off[0], at[1] + now.off[1]]);
  });

  /** @param {number} id @param {[number, number]} before @param {[number, number]} at */
  function pinch(id, before, at) {
    const other = [...down].find(([key]) => key !== id)?.[1];
    if (!other) return;
    const reach = (/** @type {[number, number]} */ p) => Math.max(8, Math.hypot(p[0] - other[0], p[1] - other[1]));
    host.zoom(reach(at) / reach(before), [(at[0] + other[0]) / 2, (at[1] + other[1]) / 2]);
    host.pan((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
  }

  /** @param {PointerEvent} event @param {boolean} kept */
  function lift(event, kept) {
    if (!down.delete(event.pointerId)) return;
    const was = now;
    if (was.state === "pinch") { if (down.size === 0) now = idle(); return; }
    now = idle();
    sheet.classList.remove("panning");
    const at = pointOf(event);
    if (was.path) { host.dragEnd(kept); if (was.state === "pressed" && kept) host.click(was.at); return; }
    if (was.state === "aim" && kept) { host.place(at, event.altKey); host.leave(); return; }
    if (was.state === "pressed" && kept) {
      if (host.hasTool()) host.place(at, event.altKey);
      else host.click(at);
    }
  }
  pane.addEventListener("pointerup", (event) => lift(event, true));
  pane.addEventListener("pointercancel", (event) => lift(event, false));
  pane.addEventListener("pointerleave", () => { if (!down.size) host.leave(); });
  pane.addEventListener("dblclick", () => host.doubleClick());
  pane.addEventListener("contextmenu", (event) => event.preventDefault());

  pane.addEventListener("wheel", (event) => {
    event.preventDefault();
    if (event.shiftKey && !event.ctrlKey) { host.pan(-event.deltaY - event.deltaX, 0); return; }
    const step = event.deltaMode === 1 ? event.deltaY * 24 : event.deltaY;
    host.zoom(Math.exp(-step * (event.ctrlKey ? 0.01 : 0.002)), pointOf(event));
  }, { passive: false });

  pane.addEventListener("keydown", (event) => { if (event.key === " ") { spaceHeld = true; event.preventDefault(); } });
  pane.addEventListener("keyup", (event) => { if (event.key === " ") spaceHeld = false; });
  pane.addEventListener("blur", () => { spaceHeld = false; });

  return {
    /** Give up what is under way, as Escape does. @returns {boolean} true if there was something */
    cancel() {
      if (now.state !== "drag") return false;
      host.dragEnd(false);
      now = idle();
      return true;
    },
    get dragging() { return now.state === "drag"; },
  };
}
