// @ts-check
/**
 * What the drawing of a face can have beyond what was measured: details of the wall, and what
 * completes it. Each with its fields, so that one form serves them all. Pure data.
 *
 * @typedef {"mm" | "count" | "level" | "openings" | "opening" | "courses" | "choice" | "tick" | "pick" | "axis"} FieldType
 * @typedef {{key: string, name: string, type: FieldType, hover?: string, choices?: Record<string, string>, least?: number, most?: number, empty?: string}} Field
 * @typedef {{name: string, hover: string, fields: Field[], start: Record<string, any>, wants?: "opening" | "pick"}} Wish
 */

/** @type {Field} */
const OF = { key: "of", name: "Openings", type: "openings", hover: "None ticked means all that can have it." };
/** @type {(key: string, name: string, empty?: string) => Field} */
const mm = (key, name, empty) => ({ key, name, type: "mm", empty });
/** @type {(key: string, name: string, least?: number) => Field} */
const count = (key, name, least = 1) => ({ key, name, type: "count", least });
/** @type {(key: string, name: string, empty?: string) => Field} */
const level = (key, name, empty) => ({ key, name, type: "level", empty, hover: "Above the datum, or the name of what lies there: a level, or a sill, springing or head such as w1.sill." });
/** @type {(key: string, name: string, choices: Record<string, string>) => Field} */
const choice = (key, name, choices) => ({ key, name, type: "choice", choices });
const BAND = [level("foot", "From"), level("head", "To"), count("lines", "Further lines", 0)];
/** @type {Field[]} */
const AXIS = [
  { key: "axis_of", name: "Axis through", type: "openings", most: 2, hover: "One opening, or two with the axis midway. None ticked: it stands where it is given below, or is found from what repeats." },
  { key: "axis_mm", name: "Axis at", type: "mm", empty: "through openings, or found", hover: "From the left edge of the drawing as measured." },
  { key: "axis_at", name: "Axis", type: "axis", hover: "Any spot on the axis, picked on either sheet." },
];

/** @type {Record<string, Wish>} */
export const DETAILS = {
  plinth: { name: "Plinth", hover: "The thicker foot of the wall.", fields: BAND, start: { foot: 0, head: 600, lines: 0 } },
  "string-course": { name: "String course", hover: "A level band across the wall.", fields: BAND, start: { foot: 3000, head: 3200, lines: 0 } },
  cornice: { name: "Cornice", hover: "The moulded band under the eaves.", fields: BAND, start: { foot: 6000, head: 6300, lines: 3 } },
  band: { name: "Band", hover: "A plain band between two levels.", fields: BAND, start: { foot: 3000, head: 3300, lines: 0 } },
  quoins: { name: "Quoins", hover: "Corner stones, long and short by turns.", start: { courses: 4, gauge_mm: 75, long_mm: 440, short_mm: 215 }, fields: [count("courses", "Courses to a stone"), mm("gauge_mm", "Course", "of the measured courses"), mm("long_mm", "Long"), mm("short_mm", "Short")] },
  sills: { name: "Sills", hover: "Sills below openings.", start: { of: [], height_mm: 120, beyond_mm: 75 }, fields: [OF, mm("height_mm", "High"), mm("beyond_mm", "Beyond the jambs")], wants: "opening" },
  lintels: { name: "Lintels", hover: "Lintels over flat heads.", start: { of: [], height_mm: 225, bearing_mm: 150 }, fields: [OF, mm("height_mm", "High"), mm("bearing_mm", "Bearing on the wall")], wants: "opening" },
  voussoirs: { name: "Voussoirs", hover: "Wedge stones or rubbed bricks over heads, by their count.", start: { of: [], count: 13, depth_mm: 225, keystone: false }, fields: [OF, count("count", "How many", 3), mm("depth_mm", "Deep"), { key: "keystone", name: "With a keystone", type: "tick" }], wants: "opening" },
  "glazing-bars": { name: "Glazing bars", hover: "Panes across and up; with a meeting rail, up in each sash.", start: { of: [], across: 2, up: 2, bar_mm: 22, frame_mm: 50, meeting_rail_mm: null }, fields: [OF, count("across", "Panes across"), count("up", "Panes up"), mm("bar_mm", "Bar"), mm("frame_mm", "Frame"), mm("meeting_rail_mm", "Meeting rail", "no sashes")], wants: "opening" },
  mullions: { name: "Mullions", hover: "Upright stone or timber divisions.", start: { of: [], mullions: 1, width_mm: 100 }, fields: [OF, count("mullions", "How many"), mm("width_mm", "Wide")], wants: "opening" },
  "door-panels": { name: "Door panels", hover: "Panels across and up between stiles and rails.", start: { of: [], across: 2, up: 3, leaf_mm: null, stile_mm: 110 }, fields: [{ ...OF, hover: "The doors.", least: 1 }, count("across", "Panels across"), count("up", "Panels up"), mm("leaf_mm", "Leaf high", "to the springing"), mm("stile_mm", "Stile")], wants: "opening" },
  "course-lines": { name: "Course lines", hover: "Bed joints over the wall, and perpends in a bond.", start: { measure: null, gauge_mm: 75, bond: null, brick_mm: 225 }, fields: [{ key: "measure", name: "Courses of", type: "courses" }, mm("gauge_mm", "Or a course of"), choice("bond", "Bond", { "": "bed joints only", stretcher: "stretcher", english: "English", flemish: "Flemish", "english-garden-wall": "English garden wall" }), mm("brick_mm", "Brick and joint")] },
  "rainwater-pipe": { name: "Rainwater pipe", hover: "A pipe down the wall, where you pick it.", start: { bore_mm: 75, hopper: true }, fields: [{ key: "at", name: "Place", type: "pick" }, mm("bore_mm", "Bore"), { key: "hopper", name: "With a hopper head", type: "tick" }], wants: "pick" },
};

/** @type {Record<string, Wish>} */
export const COMPLETIONS = {
  mirror: { name: "Mirror openings", hover: "The openings of one side once more on the other side of an axis.", start: { axis_of: [], axis_mm: null, axis_at: null, of: [] }, fields: [...AXIS, { ...OF, hover: "None ticked: all of the side that has more." }], wants: "opening" },
  half: { name: "Restore a half", hover: "One half of the wall drawn as the mirror of the other.", start: { keep: "left", axis_of: [], axis_mm: null, axis_at: null }, fields: [choice("keep", "Keep", { left: "the left half", right: "the right half" }), ...AXIS], wants: "opening" },
  repeat: { name: "Repeat a bay", hover: "Openings repeated along the wall.", start: { of: [], count: 1, spacing_mm: null, towards: "right", push: false }, fields: [{ ...OF, hover: "The bay.", least: 1 }, count("count", "How often"), mm("spacing_mm", "Spacing", "as measured"), choice("towards", "Towards", { right: "the right", left: "the left" }), { key: "push", name: "Move what stands further along", type: "tick" }], wants: "opening" },
  copy: { name: "Copy an opening", hover: "One opening at another place that you pick: the middle of its sill.", start: { of: "" }, fields: [{ key: "of", name: "Opening", type: "opening" }, { key: "at", name: "Place", type: "pick" }], wants: "pick" },
  storeys: { name: "Repeat a storey", hover: "A row of openings repeated upwards.", start: { of: [], count: 1, height_mm: 3000 }, fields: [{ ...OF, hover: "The row.", least: 1 }, count("count", "How often"), mm("height_mm", "Floor to floor", "as measured")], wants: "opening" },
};

export const PLOT_CHOICES = {
  reduce: "smaller all over", "fewer-bays": "leave out bays", "narrow-piers": "narrower piers", "lower-storeys": "lower storeys", "fewer-storeys": "leave out storeys",
};

/**
 * A plot with some of it changed. Who chooses to make all smaller lets doors become smaller too;
 * the other ways keep them true.
 * @param {any} now @param {Record<string, any>} patch @returns {any} null: no plot
 */
export function plotWith(now, patch) {
  const next = { width_mm: null, height_mm: null, choice: "reduce", ...(now ?? {}), ...patch };
  return next.width_mm || next.height_mm ? { ...next, keep_true: next.choice !== "reduce" } : null;
}

/** Openings of a face, as ticks. @param {any} face @returns {{id: string, label: string}[]} */
export function openingsOf(face) {
  return (face?.measures ?? []).filter((/** @type {any} */ m) => m.kind === "opening").map((/** @type {any} */ m) => ({ id: m.id, label: m.label || m.id }));
}

/** Names that a level can go by. @param {any} face @returns {{id: string, label: string}[]} */
export function levelNames(face) {
  return (face?.measures ?? []).flatMap((/** @type {any} */ m) => {
    if (m.kind === "level") return [{ id: m.id, label: m.label || m.id }];
    if (m.kind !== "opening") return [];
    return ["sill", "head"].map((part) => ({ id: `${m.id}.${part}`, label: `${part} of ${m.label || m.id}` }));
  });
}
