// @ts-check
/**
 * What can be picked: for each kind its name, how many picks, and what each pick is asked for.
 * The words are the trade's; `hover` explains them. Pure data.
 *
 * @typedef {object} Kind
 * @property {string} name as a heading: "Opening"
 * @property {string} stem of ids and labels: "w" gives w1, "W1"
 * @property {number} least picks needed
 * @property {number} most picks taken (Infinity: until told that it is done)
 * @property {string[]} asks one for each pick; the last one serves for all that follow
 * @property {boolean} closed drawn as a closed outline
 * @property {string} hover what it is for, in a sentence
 * @property {string} key of the keyboard, with the measures
 * @typedef {"frame" | "guides" | "references" | "measures" | "surface" | "datum" | "head" | "copy" | "face" | "wish" | "tie" | "joints"} PickGroup what a pick is for
 */

/** @type {Record<string, Kind>} */
export const MEASURES = {
  opening: {
    name: "Opening", stem: "w", least: 4, most: 4, closed: true, key: "o",
    asks: ["first corner", "second corner", "third corner", "fourth corner"],
    hover: "A door or window: width, height and sill. Four corners in any order; for an arched head the upper two at the springing.",
  },
  distance: {
    name: "Distance", stem: "d", least: 2, most: 2, closed: false, key: "d",
    asks: ["one end", "other end"],
    hover: "Straight from pick to pick on the face.",
  },
  level: {
    name: "Level", stem: "h", least: 1, most: 1, closed: false, key: "l",
    asks: ["the spot whose height is wanted"],
    hover: "Height above the datum: a sill, a head, a string course, the eaves.",
  },
  courses: {
    name: "Courses", stem: "c", least: 2, most: 2, closed: false, key: "c",
    asks: ["a bed joint at the bottom", "a bed joint straight above it"],
    hover: "Counts the courses between two bed joints and reads their gauge from the photo.",
  },
  spacing: {
    name: "Spacing", stem: "b", least: 2, most: Infinity, closed: false, key: "b",
    asks: ["the first of the row", "the next of the row"],
    hover: "Level distances along a row: bay to bay, pier to pier.",
  },
  arc: {
    name: "Arch", stem: "a", least: 3, most: Infinity, closed: false, key: "a",
    asks: ["one springing", "a spot on the curve", "the other springing, or more of the curve"],
    hover: "Radius, span and rise of a curve, from springing to springing.",
  },
  slope: {
    name: "Slope", stem: "s", least: 2, most: 2, closed: false, key: "s",
    asks: ["lower end", "upper end"],
    hover: "Angle above the level: a verge, a coping, a ramp.",
  },
  "set-back": {
    name: "Set-back", stem: "r", least: 2, most: 2, closed: false, key: "r",
    asks: ["the near end of an edge that runs straight back", "its far end"],
    hover: "How deep a reveal goes: the near and the far end of one edge running straight into the wall.",
  },
  outline: {
    name: "Outline", stem: "o", least: 3, most: Infinity, closed: true, key: "w",
    asks: ["first corner of the outline", "next corner, round the wall"],
    hover: "The edge of the wall itself: area, perimeter, and the outline of the drawing.",
  },
};

/** @type {Record<string, Kind>} */
export const GUIDES = {
  plumb: {
    name: "Plumb line", stem: "", least: 2, most: Infinity, closed: false, key: "",
    asks: ["a spot on something plumb", "another spot on the same line, far away"],
    hover: "A line that is upright in reality: a corner, a downpipe, a jamb.",
  },
  level: {
    name: "Level line", stem: "", least: 2, most: Infinity, closed: false, key: "",
    asks: ["a spot on something level", "another spot on the same line, far away"],
    hover: "A line that is level in reality: a string course, a row of sills.",
  },
  rectangle: {
    name: "Second rectangle", stem: "", least: 4, most: 4, closed: true, key: "",
    asks: ["first corner", "second corner", "third corner", "fourth corner"],
    hover: "Another upright rectangle on the wall: it lets the program check the frame.",
  },
  verge: {
    name: "Verge", stem: "", least: 2, most: Infinity, closed: false, key: "",
    asks: ["a spot on a line that runs straight up the slope", "another spot on the same line, far away"],
    hover: "A line that runs straight up a roof slope: the verge, a row of ridge-to-eaves joints. It gives the pitch, unless it stands straight above the camera.",
  },
};

/** Guides that serve on a face: a verge runs up a roof slope, where nothing is plumb. @param {any} face @returns {[string, Kind][]} */
export function guidesFor(face) {
  const roof = face?.surface?.kind === "roof";
  return Object.entries(GUIDES).filter(([kind]) => kind !== (roof ? "plumb" : "verge"));
}

/** Two picks, and nothing that it is called by. @type {Pick<Kind, "stem" | "least" | "most" | "closed" | "key">} */
const TWO_PICKS = { stem: "", least: 2, most: 2, closed: false, key: "" };

/** @type {Record<string, Kind>} */
export const REFERENCES = {
  length: {
    ...TWO_PICKS, name: "Known length",
    asks: ["one end of what you know", "its other end"],
    hover: "Something on the wall whose size you know.",
  },
  courses: {
    ...TWO_PICKS, name: "Known courses",
    asks: ["a bed joint", "another bed joint, many courses away"],
    hover: "A count of courses whose gauge you know: the more courses, the better.",
  },
};

/** @type {Kind} */
export const FRAME = {
  name: "Frame", stem: "", least: 4, most: 4, closed: true, key: "",
  asks: ["first corner", "second corner", "third corner", "fourth corner"],
  hover: "Four corners of something that is upright and square on the wall. Wide is better: several windows rather than one.",
};

/** @type {Record<string, Kind>} */
export const EDGES = {
  hinge: {
    ...TWO_PICKS, name: "Hinge",
    asks: ["a spot low on the corner both faces share", "a spot high on the same corner"],
    hover: "The plumb corner where two faces meet. It carries the size from one face to the other.",
  },
  left_edge: {
    ...TWO_PICKS, name: "Left outline",
    asks: ["a spot low on the tower's left outline", "a spot high on it"],
    hover: "Where the round tower ends against the sky on its left.",
  },
  right_edge: {
    ...TWO_PICKS, name: "Right outline",
    asks: ["a spot low on the tower's right outline", "a spot high on it"],
    hover: "Where the round tower ends against the sky on its right.",
  },
  meets_wall: {
    ...TWO_PICKS, name: "Meeting line",
    asks: ["a spot low on the line where tower and wall meet", "a spot high on it"],
    hover: "The line where the tower runs into the wall, when the wall hides its outline.",
  },
};

EDGES.also_meets = {
  ...EDGES.meets_wall, name: "Second meeting line",
  hover: "Where the same tower runs into a wall on its other side, or into a second wall.",
};
EDGES.eaves = {
  ...TWO_PICKS, name: "Eaves",
  asks: ["one end of the level line where the roof ends above the wall", "its other end"],
  hover: "The level edge that the roof slope rises from. It carries the size from the wall to the slope.",
};
EDGES.returns = {
  ...TWO_PICKS, name: "Edge running back",
  asks: ["the end of the edge on the other wall", "its end on this wall"],
  hover: "An edge that runs straight back from one wall to the other: it fixes how far apart they stand.",
};

/** What may be the same in two photos. @type {Record<string, Kind>} */
export const TIES = {
  level: {
    ...TWO_PICKS, name: "Level",
    asks: ["something level that both photos show: a sill, a string course", "the same level in the other photo"],
    hover: "A height that both photos show, though not at the same spot: eaves, a plinth, a string course.",
  },
  plumb: {
    ...TWO_PICKS, name: "Plumb line",
    asks: ["a spot on the corner that both photos show", "any spot on the same corner in the other photo"],
    hover: "A plumb corner that both photos show: a hinge between two faces, the end of a wall.",
  },
  point: {
    ...TWO_PICKS, name: "Point",
    asks: ["a spot on the wall that both photos show", "the same spot in the other photo"],
    hover: "One spot on the wall that both photos show. Three or four, far apart, join two photos well.",
  },
  space: {
    ...TWO_PICKS, name: "Point off the walls",
    asks: ["a spot before or behind the wall that both photos show", "the same spot in the other photo"],
    hover: "A chimney, a lamp, a balcony's edge: where it stands and how far off the wall, which one photo cannot tell.",
  },
};

/** What a tie is called. @param {any} tie */
export function nameOfTie(tie) {
  return tie.label || `${TIES[tie.kind].name} ${tie.id}`;
}

/** @type {Kind} */
export const JOINTS = {
  name: "Joints", stem: "", least: 0, most: Infinity, closed: false, key: "",
  asks: ["a joint to take it away, or the place of a missing one to add it"],
  hover: "The count, the gauge and its ± follow at once.",
};

/** @type {Kind} */
export const DATUM = {
  name: "Datum", stem: "", least: 1, most: 1, closed: false, key: "",
  asks: ["the spot that levels count from"],
  hover: "Levels count from here: the pavement, the plinth, a door sill.",
};

/** @type {Kind} */
export const COPY = {
  name: "Copy", stem: "", least: 1, most: 1, closed: false, key: "",
  asks: ["where its upper left corner goes"],
  hover: "The same measure at another place: a second window of the same kind.",
};

/** @type {Kind} */
export const PLACE = {
  name: "Place", stem: "", least: 1, most: 1, closed: false, key: "",
  asks: ["its place on the wall"],
  hover: "Where it stands.",
};

/** Names of heads of openings, and what their extra picks are asked for. */
export const HEADS = {
  flat: { name: "flat", least: 0, most: 0, asks: [], hover: "A straight head: a lintel or a flat arch." },
  semicircular: { name: "half round", least: 0, most: 20, asks: ["a spot on the curve (or done)"], hover: "Half a circle on the springing." },
  segmental: { name: "segmental", least: 1, most: 20, asks: ["the crown", "another spot on the curve"], hover: "Less than half a circle: springing, crown, springing." },
  pointed: { name: "pointed", least: 1, most: 20, asks: ["the point", "a spot on either curve"], hover: "Two arcs that meet in a point." },
  round: { name: "full circle", least: 0, most: 20, asks: ["a spot on the rim"], hover: "A bull's eye: a whole circle inside the four corners." },
};

/**
 * The kind a path of the document belongs to.
 * @param {PickGroup} group
 * @param {string} kind @returns {Kind}
 */
export function kindOf(group, kind) {
  if (group === "frame") return FRAME;
  if (group === "datum") return DATUM;
  if (group === "copy") return COPY;
  if (group === "joints") return JOINTS;
  if (group === "wish" && (kind === "mirror" || kind === "half")) return { ...PLACE, name: "Axis", asks: ["a spot on the axis"], hover: "The plumb line that it is mirrored about." };
  if (group === "wish") return kind === "copy" ? { ...COPY, asks: ["the middle of its new sill"] } : PLACE;
  if (group === "tie") return TIES[kind];
  if (group === "guides") return GUIDES[kind];
  if (group === "references") return REFERENCES[kind];
  if (group === "surface" || group === "face") return EDGES[kind === "wing" ? "hinge" : kind === "roof" ? "eaves" : kind];
  if (group === "head") {
    const head = HEADS[/** @type {keyof typeof HEADS} */ (kind)];
    return { ...head, stem: "", closed: false, key: "" };
  }
  return MEASURES[kind];
}
