// @ts-check
/** Our own small signs, drawn on a 16 unit square. They stand beside words, never instead. Effect. */

import { s } from "./dom.js";

/** @type {Record<string, string>} */
const PATHS = {
  tick: "M3 8.5l3.2 3.2L13 4.8",
  ring: "M8 3a5 5 0 1 0 0 10a5 5 0 0 0 0-10z",
  next: "M3 8h9M8.5 4.5L12 8l-3.5 3.5",
  undo: "M6.5 3L3 6.5L6.5 10M3 6.5h6a4 3.4 0 0 1 0 6.8H6",
  redo: "M9.5 3L13 6.5L9.5 10M13 6.5H7a4 3.4 0 0 0 0 6.8h3",
  bin: "M3 4.5h10M6.5 4V2.5h3V4M4.5 4.5l.6 9h5.8l.6-9M6.8 7v4.2M9.2 7v4.2",
  copy: "M5.5 5.5h7.5v8H5.5zM3 10.5v-8h7.5",
  find: "M8 1.5v4M8 10.5v4M1.5 8h4M10.5 8h4M8 5.5a2.5 2.5 0 1 0 0 5a2.5 2.5 0 0 0 0-5z",
  knife: "M2 13.5L9.5 6l3.5-4c1 2 .6 3.6-.6 4.8L10.5 9L8.5 7",
  cross: "M4 4l8 8M12 4l-8 8",
  opening: "M3.5 14v-12h9v12M2 14h12M8 2v12",
  distance: "M2 5v6M14 5v6M2 8h12M4.5 6L2 8l2.5 2M11.5 6L14 8l-2.5 2",
  level: "M2 11.5h12M8 11.5V4M6 7l2-3l2 3",
  courses: "M2 3h12M2 6.3h12M2 9.6h12M2 13h12M6 3v3.3M10 6.3v3.3M6 9.6V13",
  spacing: "M2.5 3v10M8 3v10M13.5 3v10M2.5 8h11",
  arc: "M2 12a6 6.5 0 0 1 12 0M2 12h12",
  slope: "M2 13h12L2 5zM6 13a4 4 0 0 0-.7-5",
  "set-back": "M3 2v12M3 5l8 3v6M3 14h8",
  outline: "M2.5 13.5v-8L8 2l5.5 3.5v8z",
  print: "M4.5 6V2.5h7V6M3 6h10v5.5h-1.5M4.5 9.5h7v4h-7zM3 6v5.5h1.5",
};

/** @param {string} name @param {{size?: number, class?: string, label?: string}} [props] */
export function icon(name, props = {}) {
  const size = props.size ?? 16;
  return s("svg", {
    viewBox: "0 0 16 16", width: size, height: size, class: props.class,
    "aria-hidden": props.label ? undefined : "true", role: props.label ? "img" : undefined, "aria-label": props.label,
  }, s("path", { d: PATHS[name] ?? PATHS.ring, fill: "none", stroke: "currentColor", "stroke-width": "1.5", "stroke-linecap": "square", "stroke-linejoin": "miter" }));
}

/** The sign for what is wrong: a filled triangle with a stroke in it. @param {string} [label] */
export function wrongSign(label) {
  return s("svg", { viewBox: "0 0 16 16", width: 16, height: 16, class: "state state-wrong", role: label ? "img" : undefined, "aria-label": label, "aria-hidden": label ? undefined : "true" },
    s("path", { d: "M8 1.5L15.2 14H.8z", fill: "currentColor" }),
    s("path", { d: "M8 6v4M8 11.4v1.4", stroke: "var(--paper)", "stroke-width": "1.6" }));
}

/** The sign of a line of the job. @param {"todo" | "next" | "done" | "wrong"} state */
export function stateSign(state) {
  const label = { todo: "not yet", next: "next", done: "done", wrong: "to look at" }[state];
  if (state === "wrong") return wrongSign(label);
  return icon({ todo: "ring", next: "next", done: "tick" }[state], { class: `state state-${state}`, label });
}
