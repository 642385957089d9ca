// @ts-check
/** Every key of the page in one table; it also prints the list of keys. Pure. */

import { MEASURES } from "./kinds.js";

/** @typedef {{keys: string[], does: string, act: string, where: string}} KeyRow */

/** @type {KeyRow[]} */
export const KEY_TABLE = [
  { where: "Anywhere", keys: ["Ctrl+Z"], does: "undo", act: "undo" },
  { where: "Anywhere", keys: ["Ctrl+Shift+Z", "Ctrl+Y"], does: "redo", act: "redo" },
  { where: "Anywhere", keys: ["?"], does: "show this list, or put it away", act: "keys" },
  { where: "Anywhere", keys: ["F6"], does: "go to the next part of the page (Shift: back)", act: "next-part" },
  { where: "Anywhere", keys: ["1"], does: "photo over the whole width", act: "show-photo" },
  { where: "Anywhere", keys: ["2"], does: "photo and wall side by side", act: "show-both" },
  { where: "Anywhere", keys: ["3"], does: "wall over the whole width", act: "show-wall" },
  { where: "Anywhere", keys: ["4"], does: "drawing on the wall, drawing alone, neither", act: "show-drawing" },
  { where: "Anywhere", keys: ["m"], does: "± map over the wall, on or off", act: "map" },
  { where: "Anywhere", keys: ["h"], does: "handles at openings of the drawing, to mirror and repeat them, out or away", act: "handles" },
  { where: "A tool", keys: ["f"], does: "frame: four corners", act: "tool:frame" },
  { where: "A tool", keys: ["k"], does: "known size", act: "tool:known" },
  { where: "A tool", keys: ["p"], does: "plumb line", act: "tool:guides:plumb" },
  { where: "A tool", keys: ["e"], does: "level line", act: "tool:guides:level" },
  { where: "A tool", keys: ["x"], does: "second rectangle", act: "tool:guides:rectangle" },
  ...Object.entries(MEASURES).map(([kind, spec]) => ({
    where: "A measure",
    keys: [spec.key],
    does: spec.name.toLowerCase(),
    act: `tool:measures:${kind}`,
  })),
  { where: "On a sheet", keys: ["Arrows"], does: "move the cross-hair or the chosen pick by 1 photo pixel (Shift: 10, Ctrl: 100, Alt: 0.1); while nothing is picked, move the view", act: "" },
  { where: "On a sheet", keys: ["Enter"], does: "pick at the cross-hair; end a run of picks", act: "" },
  { where: "On a sheet", keys: ["Escape"], does: "stop picking; give up a drag", act: "" },
  { where: "On a sheet", keys: ["Backspace"], does: "give the last pick back; remove what is chosen", act: "" },
  { where: "On a sheet", keys: ["+", "-"], does: "zoom in, out", act: "" },
  { where: "On a sheet", keys: ["0"], does: "show it all", act: "" },
  { where: "On a sheet", keys: ["Tab"], does: "next mark (Shift: the one before)", act: "" },
  { where: "On a sheet", keys: ["Space"], does: "held: drag moves the view", act: "" },
  { where: "On a level or jamb of the drawing, or on a part of card", keys: ["Arrows"], does: "move it by 1 mm (Shift: 10, Alt: 0.1)", act: "" },
  { where: "On a level or jamb of the drawing, or on a part of card", keys: ["PageUp", "PageDown"], does: "put the line onto the next one; carry the part to the sheet before or after", act: "" },
  { where: "On a level or jamb of the drawing, or on a part of card", keys: ["t"], does: "turn the part as its grain allows", act: "" },
  { where: "On a level or jamb of the drawing, or on a part of card", keys: ["o"], does: "leave the part out", act: "" },
  { where: "On a level or jamb of the drawing, or on a part of card", keys: ["Enter"], does: "put it down (Escape: give it up)", act: "" },
  { where: "On a level or jamb of the drawing, or on a part of card", keys: ["Delete"], does: "as measured again; unpin the part", act: "" },
  { where: "On a handle at openings of the drawing", keys: ["Arrows"], does: "move the axis or the first copy by 1 mm (Shift: 10, Alt: 0.1)", act: "" },
  { where: "On a handle at openings of the drawing", keys: ["PageUp", "PageDown"], does: "put it onto the next line or spacing, the one before", act: "" },
  { where: "On a handle at openings of the drawing", keys: ["+", "-"], does: "one copy more, one less", act: "" },
  { where: "On a handle at openings of the drawing", keys: ["Enter"], does: "take it in hand; take what is offered (Escape: give it up)", act: "" },
];

/**
 * The name of a key press as the table writes it. Cmd counts as Ctrl.
 * @param {{key: string, ctrlKey: boolean, metaKey: boolean, shiftKey: boolean, altKey: boolean}} event
 */
export function keyName(event) {
  const letter = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (event.ctrlKey || event.metaKey) {
    return `Ctrl+${event.shiftKey ? "Shift+" : ""}${letter.length === 1 ? letter.toUpperCase() : letter}`;
  }
  return letter;
}

/** @param {Parameters<typeof keyName>[0]} event @returns {string} what to do, or "" */
export function actOf(event) {
  if (event.altKey) return "";
  const name = keyName(event);
  return KEY_TABLE.find((row) => row.act && row.keys.includes(name))?.act ?? "";
}

/**
 * The step of an arrow key in photo pixels.
 * @param {{key: string, shiftKey: boolean, altKey: boolean, ctrlKey: boolean, metaKey: boolean}} event
 * @returns {[number, number] | null}
 */
export function arrowStep(event) {
  /** @type {Record<string, [number, number]>} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const way = ways[event.key];
  if (!way) return null;
  const step = event.altKey ? 0.1 : event.ctrlKey || event.metaKey ? 100 : event.shiftKey ? 10 : 1;
  return [way[0] * step, way[1] * step];
}
