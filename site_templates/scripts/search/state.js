/* ---- what can be asked, and how the address tells it ---- */

const LISTS = ["family", "kind", "level", "gimp", "corner", "sheet", "copying"];
const TITLES = {
  technique: "Techniques",
  family: "Family",
  kind: "What it makes",
  level: "Difficulty",
  gimp: "Gimp",
  corner: "Corner",
  sheet: "Pricking on file",
  copying: "May it be copied?",
};
const RANGES = {
  pairs: { title: "Pairs", unit: "pairs", tenths: 1, columns: ["pairs"] },
  width: { title: "Width", unit: "mm", tenths: 10, columns: ["width"] },
  wraps: { title: "Thread", unit: "wraps per cm", tenths: 10, columns: ["wrapsfrom", "wrapsto"] },
};
const OWN = { count: null, plies: 2, system: "" };
const SORTS = {
  fit: { words: "best fit" },
  level: { words: "easiest first", column: "level" },
  pairs: { words: "fewest pairs", column: "pairs" },
  width: { words: "narrowest", column: "width" },
  title: { words: "title" },
  shelf: { words: "shelfmark" },
};

function readState() {
  const told = new URLSearchParams(location.hash.slice(1));
  const list = (key) => (told.get(key) || "").split(",").filter(Boolean);
  const range = (key) => {
    const found = /^(\d*\.?\d*)-(\d*\.?\d*)$/.exec(told.get(key) || "");
    return found ? [1, 2].map((side) => (found[side] === "" ? null : Number(found[side]))) : [null, null];
  };
  const state = {
    q: told.get("q") || "",
    any: told.has("any"),
    with: told.has("any") ? list("any") : list("all"),
    not: list("not"),
    sort: Object.hasOwn(SORTS, told.get("sort")) ? told.get("sort") : "fit",
  };
  LISTS.forEach((key) => (state[key] = list(key)));
  const [count, plies, system] = list("own");
  state.own = system ? { count: Number(count), plies: Number(plies), system } : OWN;
  Object.keys(RANGES).forEach((key) => (state[key] = range(key)));
  return state;
}

function fragmentOf(state) {
  const told = new URLSearchParams();
  if (state.q.trim()) told.set("q", state.q);
  if (state.with.length) told.set(state.any ? "any" : "all", state.with.join(","));
  if (state.not.length) told.set("not", state.not.join(","));
  LISTS.forEach((key) => state[key].length && told.set(key, state[key].join(",")));
  Object.keys(RANGES).forEach((key) => {
    const [from, to] = state[key];
    if (from !== null || to !== null) told.set(key, `${from ?? ""}-${to ?? ""}`);
  });
  const { count, plies, system } = state.own;
  if (count && plies && system) told.set("own", [count, plies, system].join(","));
  if (state.sort !== "fit") told.set("sort", state.sort);
  return told.toString().replaceAll("%2C", ",");
}
