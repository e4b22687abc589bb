/* ---- threads: the numbers that are typed, “Nm 60/2”, “80/2 linen”, “12 tex x 2”, and the wraps to expect ---- */

/* More plies are something else; what is numbered without plies has mostly two or three. Common
   practice, no source. */
const MOST_PLIES = 12;
const USUAL_PLIES = [2, 3];

class Threads {
  constructor({ systems, fibres, wraps }) {
    this.systems = systems.map(([id, name, direct, texOfOne, labels, fibres]) => ({ id, name, direct, texOfOne, labels: labels.map(folded), fibres }));
    this.fibres = new Map(fibres.flatMap(([id, words]) => words.map((word) => [folded(word), id])));
    this.wraps = wraps;
    const labels = this.systems.flatMap((system) => system.labels).sort((one, other) => other.length - one.length);
    const label = labels.map((words) => words.replaceAll(" ", " ?")).join("|");
    this.number = new RegExp(
      `(?<=^|[\\s,;(])(?:(?<first>${label}) ?)?(?<count>\\d{1,4}(?:[.,]\\d{1,2})?)(?: ?/ ?(?<stroke>\\d{1,2}))?(?: ?(?<last>${label}))?(?: ?[x×*] ?(?<times>\\d{1,2}))?(?=$|[\\s,;.)!?])`,
      "gu",
    );
  }

  /* The thread whose number stands in a folded text: {typed, rest, choices}, the number, the text
     without it and as what {count, plies, system} it can be meant; null if there is none, or several. */
  typedIn(text) {
    const found = [];
    for (const { 0: typed, index, groups } of text.matchAll(this.number)) {
      const before = text.slice(0, index);
      const choices = this.choices(groups, before, text);
      if (choices.length) found.push({ typed, rest: `${before} ${text.slice(index + typed.length)}`, choices });
    }
    return found.length === 1 ? found[0] : null;
  }

  /* As what a number can be meant. A number and plies behind a single letter are a shelfmark. */
  choices({ first, count: typed, stroke, last, times }, before, text) {
    const label = first || last;
    const stated = this.systems.find(({ labels }) => labels.some((own) => own.replaceAll(" ", "") === label?.replaceAll(" ", "")));
    const [count, plies] = [Number(typed.replace(",", ".")), Number(stroke || times)];
    const unclear =
      !count || (first && last) || (stroke && times) || plies === 0 || plies > MOST_PLIES || (plies > count && !stated?.direct) ||
      (stated ? stated.direct && stroke : !stroke || !Number.isInteger(count) || /(^|\P{L})\p{L}\s$/u.test(before));
    if (unclear) return [];
    const fibre = wordsOf(text).map((word) => this.fibres.get(word)).find(Boolean);
    const suits = ({ fibres }) => !fibre || !fibres.length || fibres.includes(fibre);
    const made = this.systems.filter((system) => !system.direct && suits(system));
    const usual = [...made.filter(({ fibres }) => fibres.length), ...made.filter(({ fibres }) => !fibres.length)];
    const systems = !stated ? usual : suits(stated) ? [stated] : [...usual, stated];
    return systems.flatMap(({ id, direct }) => (plies ? [plies] : direct ? [1] : USUAL_PLIES).map((plies) => ({ count, plies, system: id })));
  }

  /* The wraps per cm to expect of a thread: {likely, low, high, words}; null if it is not whole. */
  wrapsOf({ count, plies, system }) {
    const found = this.systems.find(({ id }) => id === system);
    if (!found || !(count > 0) || !(plies > 0)) return null;
    const tex = plies * (found.direct ? found.texOfOne * count : found.texOfOne / count);
    const [likely, low, high] = this.wraps.map((one) => one / Math.sqrt(tex));
    const label = found.direct ? `${count} ${system}${plies > 1 ? ` × ${plies}` : ""}` : `${system} ${count}/${plies}`;
    const words = `${label}, about ${likely.toFixed(0)} wraps per cm (estimate, ${low.toFixed(0)} to ${high.toFixed(0)})`;
    return { likely, low, high, words };
  }
}
