/* ---- answers: which records fit a state, and in which order ---- */

const MOST_OFFERS = 6;

class Searcher {
  constructor(root) {
    this.root = root;
    this.total = root.records;
    this.facets = new Facets(root);
    this.lexicon = new Lexicon(root, this.facets);
  }

  /* The records that fit a state, and what stands in the way where none does. */
  async answer(state) {
    const { segments, remarks } = await this.lexicon.text(state.q);
    const restrictions = await this.facets.restrictions(state);
    const conditions = [...segments, ...restrictions];
    const but = (left) => this.shared(conditions.filter((one) => !left(one)));
    const set = this.shared(conditions);
    const total = sizeOf(set);
    const loosen = total ? [] : this.loosen(conditions);
    const scores = segments.length && state.sort === "fit" ? this.lexicon.scoresOf(set, segments) : null;
    return { total, set, but, scores, sort: state.sort, segments, restrictions, conditions, loosen, remarks };
  }

  /* What was typed that means filters, each as it can be meant: [{changes, taken, words, total}],
     how the state would change, by which words, what the filters say and how many records fit. */
  async offers(state) {
    const found = filtersIn(state.q, (phrase) => this.lexicon.named(phrase), this.facets.threads);
    if (!found.taken.length) return [];
    const joined = (old, names) => [
      ...new Set([...old, ...names.map(({ value }) => this.facets.values.get("technique")[value][0])]),
    ];
    const changes = {
      q: found.rest.map((word) => `${word} `).join(""),
      with: joined(state.with, found.with),
      not: joined(state.not, found.not),
      ...found.ranges,
    };
    const unknown = [];
    for (const [facet, answer] of Object.entries(found.answers)) {
      changes[facet] = [answer];
      const values = this.facets.values.get(facet) || [];
      if (!values.some(([id]) => id === answer)) unknown.push(`${TITLES[facet].toLowerCase()}: ${answer}`);
    }
    const before = (await this.facets.restrictions(state)).map(({ words }) => words);
    const offer = async (changes) => {
      const { total, restrictions } = await this.answer({ ...state, ...changes });
      const filters = [...restrictions.map(({ words }) => words).filter((words) => !before.includes(words)), ...unknown];
      const rest = found.rest.length ? [`“${found.rest.join(" ")}”`] : [];
      return filters.length ? [{ changes, taken: found.taken, words: [...rest, ...filters].join(", "), total: unknown.length ? 0 : total }] : [];
    };
    const meant = found.threads.length ? found.threads.map((own) => ({ ...changes, own })) : [changes];
    return (await Promise.all(meant.map(offer))).flat();
  }

  /* The records that fit every condition. */
  shared(conditions) {
    return conditions.reduce((set, one) => both(set, one.set), everything(this.total));
  }

  /* What to take away where nothing fits all conditions: one of them, or else two, or else all
     but one; what leaves most comes first. */
  loosen(conditions) {
    const pairs = conditions.flatMap((one, place) => conditions.slice(place + 1).map((other) => [one, other]));
    const allBut = conditions.map((one) => conditions.filter((other) => other !== one));
    for (const gone of [conditions.map((one) => [one]), pairs, allBut]) {
      const offers = gone
        .filter((these) => these.length < conditions.length)
        .map((these) => ({ these, hits: sizeOf(this.shared(conditions.filter((one) => !these.includes(one)))) }))
        .filter(({ hits }) => hits);
      if (offers.length) return offers.sort((one, other) => other.hits - one.hits).slice(0, MOST_OFFERS);
    }
    return [];
  }

  /* How many records of an answer have each value of each facet. */
  async counts(answer) {
    const counts = {};
    const whole = comparable(answer.set);
    const count = async ([id, values]) => {
      if (!answer.conditions.length) {
        counts[id] = values.map((value) => value[4]);
        return;
      }
      const sets = await this.facets.havingEach(id);
      const own = (one) => one.facet === (id === "technique" ? "technique-any" : id);
      const base = answer.restrictions.some(own) ? comparable(answer.but(own)) : whole;
      counts[id] = sets.map((words) => sharedSize(base, words));
    };
    await Promise.all([...this.facets.values].map(count));
    return counts;
  }

  /* The first `most` records of an answer, the best first. */
  async ranked({ set, scores, sort }, most) {
    if (sort === "title") return this.byTitle(set, most);
    const name = SORTS[sort].column;
    if (!name) return firstOf(set, most, scores ? (record) => -scores[record] : () => 0);
    const column = await this.facets.column(name);
    return firstOf(set, most, (record) => column[record] || Infinity);
  }

  /* The first records of a set by title; only the parts of that order are read which hold them. */
  async byTitle(set, most) {
    const partOf = await this.facets.column("title");
    const sizes = [];
    eachRecord(set, (record) => (sizes[partOf[record]] = (sizes[partOf[record]] || 0) + 1));
    const parts = [];
    let held = 0;
    for (let part = 0; part < sizes.length && held < most; part++) {
      if (sizes[part]) parts.push(part);
      held += sizes[part] || 0;
    }
    const orders = await Promise.all(parts.map((part) => index.need(`titles${part}`)));
    const isIn = (record) => (set[record >> 5] >>> (record & 31)) & 1;
    return orders.flatMap((order) => order.filter(isIn)).slice(0, most);
  }

  async record(number) {
    const per = this.root.perPart;
    return (await index.need(`records${Math.floor(number / per)}`))[number % per];
  }
}
