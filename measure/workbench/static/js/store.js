// @ts-check
/**
 * The page's state: one object, replaced as a whole, and those who listen to a part of it.
 * Effect only in that it calls its listeners; it touches no element.
 */

/**
 * @typedef {object} State
 * @property {"opening" | "start" | "bench"} place
 * @property {any} start what the first page shows: recent surveys, catalogue, scales
 * @property {string | null} survey key of the open survey
 * @property {string} folder where it lies, for the eye
 * @property {import("./history.js").History<any> | null} history
 * @property {{state: "saved" | "saving" | "unsaved" | "lost" | "elsewhere", message: string}} saved
 * @property {any} answer the server's latest answer, or null
 * @property {{message: string, hint: string, where: string} | null} problem
 * @property {string} face id of the face in hand
 * @property {string | null} chosen path of the chosen thing, as text
 * @property {string | null} pick path of the chosen pick, as text
 * @property {import("./pick_sequence.js").PickRun | null} run picks under way
 * @property {"photo" | "both" | "wall"} layout
 * @property {"off" | "over" | "alone"} drawing
 * @property {boolean} map
 * @property {string | null} open line of the job that is open
 * @property {"sizes" | "keys" | "versions"} side what the right margin shows
 * @property {"job" | "sizes" | null} margin the margin that is unfolded on a narrow page
 * @property {any[] | null} versions earlier versions of the file; null: not looked up
 * @property {{name: string, problem: string | null} | null} arriving a photo being added, or why it was not
 * @property {any} solids the solved faces as lines
 * @property {import("./cards.js").Cards} cards the sheets of card
 * @property {import("./offers.js").Offers} offers what was found and is not yet taken
 * @property {any} plusMinus spots of the ± map
 * @property {any} drawn the elevation over the wall
 * @property {import("./tools/on_handles.js").Handles | null} handles at openings over the elevation; null: put away
 * @property {string | null} paperImage the elevation on paper
 * @property {any} drawingHow paper, layers, and what is said of them
 * @property {number | null} walk step of the walk along the demo
 * @property {import("./format.js").Unit} unit
 * @property {"auto" | "light" | "dark"} theme
 * @property {boolean} letters single-letter keys are on
 * @property {any[]} exports files written lately, newest first
 * @property {number} form edition of the form for a known size, which is no part of the survey
 */

/** @param {State} initial */
export function makeStore(initial) {
  let state = initial;
  /** @type {Set<() => void>} */
  const listeners = new Set();
  let telling = false;
  let again = false;

  const tell = () => {
    if (telling) { again = true; return; }
    telling = true;
    do {
      again = false;
      for (const listener of [...listeners]) listener();
    } while (again);
    telling = false;
  };

  return {
    /** @returns {State} */
    get state() { return state; },
    /** @param {Partial<State>} patch */
    set(patch) {
      const changed = Object.entries(patch).some(([key, value]) => /** @type {any} */ (state)[key] !== value);
      if (!changed) return;
      state = { ...state, ...patch };
      tell();
    },
    /**
     * Call `listen` now and whenever one of the selected values changes.
     * @param {(state: State) => any[]} select @param {(state: State) => void} listen
     * @returns {() => void} stops listening
     */
    on(select, listen) {
      /** @type {any[] | null} */
      let before = null;
      const check = () => {
        const now = select(state);
        if (before !== null && now.length === before.length && now.every((v, i) => v === before?.[i])) return;
        before = now;
        listen(state);
      };
      listeners.add(check);
      check();
      return () => listeners.delete(check);
    },
  };
}

/** @typedef {ReturnType<typeof makeStore>} Store */
