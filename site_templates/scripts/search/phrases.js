/* ---- words that mean a filter: “up to 20 pairs”, “no gimp”, “3 cm wide” ---- */

/* Words of measure: the filter, and how many of its units one is. */
const MEASURES = [
  ["pairs?|prs?|paires?|paare?", "pairs", 1],
  ["bobbins?", "pairs", 1 / 2],
  ["wraps? ?(?:per|to the|an?|/) ?inch|wpi", "wraps", 1 / 2.54],
  ["wraps?(?: ?(?:per|to the|a|/) ?cm)?", "wraps", 1],
  ["(?:mm|millimet(?:er|re)s?)(?: wide| width)?", "width", 1],
  ["(?:cm|centimet(?:er|re)s?)(?: wide| width)?", "width", 10],
  ["inch(?:es)?(?: wide| width)?", "width", 25.4],
];
/* Words of a limit before an amount, or behind it: what it does with the number. */
const LIMITS = [
  ["up to|at most|no more than|not more than|max(?:imum|\\.)?(?: of)?|or fewer|or less|<=|≤|-", (one) => [null, one]],
  ["under|below|less than|fewer than|<", (one, least) => [null, one - least]],
  ["at least|from|min(?:imum|\\.)?(?: of)?|or more|>=|≥|\\+", (one) => [one, null]],
  ["over|above|more than|>", (one, least) => [one + least, null]],
  ["about|around|roughly|circa|ca?\\.?|~", (one) => about(one)],
];
/* Widths and wraps are never exactly so: one number stands for a tenth less and more. */
const about = (one) => [0.9 * one, 1.1 * one];
/* What is known of a pattern as yes or no, by the words for it. */
const YES_OR_NO = { gimp: "gimp", gimps: "gimp", corner: "corner", corners: "corner" };
const WITH = ["with", "has", "including"];
const WITHOUT = ["no", "without", "not"];
/* Words that join what is asked for and say nothing themselves. */
const JOINING = ["and", "but", "with", "a", "an", "any", "the", "pattern", "patterns", "lace"];

const amounts = (() => {
  const limits = LIMITS.map(([words]) => words).join("|");
  const measures = MEASURES.map(([words]) => words).join("|");
  const number = "\\d+(?:[.,]\\d+)?";
  const amount = `(?:(${limits}) ?)?(${number})(?: ?(?:-|–|to) ?(${number}))?`;
  const before = "(^|[\\s,;(])";
  const behind = "(?=$|[\\s,;.)!?])";
  return [
    new RegExp(`${before}(?:width:? )?${amount} ?(\\+)? ?(${measures})(?: (${limits}))?${behind}`, "gu"),
    new RegExp(`${before}(${measures}|width):? ${amount}(\\+)?${behind}`, "gu"),
  ];
})();

const matching = (list, words) => list.find(([own]) => new RegExp(`^(?:${own})$`, "u").test(words));

/* The range that an amount means, in the units of its filter. */
function rangeOf(limit, first, second, [, key, unit]) {
  const [low, high] = [first, second].map((one) => one && Number(one.replace(",", ".")) * unit);
  const least = key === "pairs" ? 1 : 0;
  let range = high ? [Math.min(low, high), Math.max(low, high)] : [low, low];
  if (!high && limit) range = matching(LIMITS, limit)[1](low, least);
  else if (!high && key !== "pairs") range = about(low);
  return range.map((one) => one && (key === "pairs" ? Math.round(one) : Math.round(2 * one) / 2));
}

/* How many words from a place on are the longest phrase that fits; 0 if none does. */
function longest(words, from, least, fits) {
  for (let length = Math.min(6, words.length - from); length >= least; length--) {
    if (fits(words.slice(from, from + length).join(" "))) return length;
  }
  return 0;
}

/* What of a text means a filter: {rest, taken, threads, ranges, answers, with, not}, the words left,
   those taken, and what they ask for, a thread perhaps in several ways. `named` gives the values of
   facets that a phrase is the name of, `threads` what their numbers mean. */
function filtersIn(text, named, threads) {
  const found = { rest: [], taken: [], threads: [], ranges: {}, answers: {}, with: [], not: [] };
  const amount = (words, limit, first, second, measure) => {
    const range = rangeOf(limit, first, second, measure);
    const [, key] = measure;
    const [from, to] = found.ranges[key] || [null, null];
    found.ranges[key] = [range[0] ?? from, range[1] ?? to];
    found.taken.push(...wordsOf(words));
  };
  const between = /\bbetween ([\d.,]+) and ([\d.,]+)/g;
  let left = folded(text);
  const thread = threads.typedIn(left);
  if (thread) {
    found.threads = thread.choices;
    found.taken.push(...wordsOf(thread.typed));
    left = thread.rest;
  }
  left = left.replace(between, "$1-$2").replace(amounts[0], (all, before, limit, first, second, plus, words, after) => {
    amount(all, limit || plus || after, first, second, matching(MEASURES, words));
    return `${before} `;
  });
  left = left.replace(amounts[1], (all, before, words, limit, first, second, plus) => {
    amount(all, limit || plus, first, second, matching(MEASURES, words) || ["", "width", 1]);
    return `${before} `;
  });
  const words = wordsOf(left);
  const techniqueOf = (phrase) => {
    const meant = named(phrase).filter(({ facet }) => facet === "technique");
    return meant.length === 1 ? meant[0] : null;
  };
  for (let at = 0; at < words.length; ) {
    const name = longest(words, at, 2, (phrase) => named(phrase).length);
    if (name) {
      found.rest.push(...words.slice(at, at + name));
      at += name;
      continue;
    }
    const asked = WITH.includes(words[at]) ? "with" : WITHOUT.includes(words[at]) ? "not" : "";
    const from = at + (asked && JOINING.includes(words[at + 1]) ? 2 : 1);
    const length = asked && longest(words, from, 1, (phrase) => YES_OR_NO[phrase] || techniqueOf(phrase));
    if (!length) {
      found.rest.push(words[at]);
      at++;
      continue;
    }
    const phrase = words.slice(from, from + length).join(" ");
    if (YES_OR_NO[phrase]) found.answers[YES_OR_NO[phrase]] = asked === "with" ? "yes" : "no";
    else found[asked].push(techniqueOf(phrase));
    found.taken.push(...words.slice(at, from + length));
    at = from + length;
  }
  found.rest = found.rest.filter((word) => !JOINING.includes(word));
  return found;
}
