// @ts-check
/** The page's own words: trade terms for hovering, the walk, what makes a good photo, safety. Pure data. */

/** Trade terms and their meaning in one line. */
export const TERMS = {
  face: "One surface of the building: a wall, a wing, a round tower.",
  frame: "Four corners of something upright and square on the wall. They fix how the wall stands to the camera.",
  course: "One level row of bricks or stones.",
  gauge: "Height of one course with its joint.",
  "bed joint": "The level joint between two courses.",
  sill: "The sloping bottom member of an opening.",
  head: "The top of an opening.",
  jamb: "The upright side of an opening.",
  reveal: "The return of the wall between its face and the frame.",
  springing: "The level where an arch starts.",
  "set-back": "How far something lies behind the face of the wall.",
  datum: "The level that all heights count from.",
  plumb: "Upright in reality, as a plumb bob hangs.",
};

export const GOOD_PHOTO = [
  "Stand as square to the wall as the street allows, and get all of it in. A slant is fine; a corner cut off is not.",
  "Use the ordinary lens, neither the wide one nor zoom, and do not crop: the program reads the lens from the photo.",
  "Tape one thing you can reach, a door or a run of brick courses, and note which face of it you taped.",
];

export const SAFETY = [
  "At the kerb: stay on the pavement, look up only when standing still, and keep off other people's land.",
  "At the bench: a sharp blade, many light passes, a steel rule with a finger guard; air for the glue.",
  "For models only: not a survey, not for building work, boundaries or structural decisions. Defer to local codes and licensed practice.",
];

/** Which face of a door is meant. Mixing them is a 5 to 10 % error. */
export const DOOR_FACES = {
  leaf: "The leaf is the door itself, what swings.",
  frame: "The frame is the timber round the leaf, outer edge to outer edge.",
  opening: "The opening is the hole in the wall, brick to brick.",
};

/** The walk along the demo: what to look at, and where it is. */
export const WALK = [
  { part: "photo", says: "This is the photo as taken. The blue outline is the frame: four corners of something square on the wall. Drag one, and watch the wall on the other sheet follow." },
  { part: "wall", says: "This is the same wall straightened: as seen square on. The cross-hair stands on the same spot in both. The rod at its edge is marked in true height." },
  { part: "known", says: "One known size gives everything its scale. Here it is a door; a run of brick courses does as well." },
  { part: "trust", says: "This sentence says how far to trust what you see, and what would help most. It changes while you drag." },
  { part: "sizes", says: "Every measure with its ± at full size and its size on your model. Choose Opening, and pick the four corners of a window." },
  { part: "drawing", says: "The elevation, drawn from what you measured. Save it as SVG, DXF or PDF, true to scale, with a bar to check the printer by." },
];
