/* ---- filters: which records have a value, and what a state asks for ---- */

class Facets {
  constructor({ records, facets, threads }) {
    this.total = records;
    this.values = new Map(facets.map(({ id, values }) => [id, values]));
    this.parts = new Map(facets.map(({ id, parts }) => [id, parts]));
    this.threads = new Threads(threads);
  }

  part(id, part) {
    return index.form(`facet-${id}-${part}`, (sets) => sets.map((coded) => setOf(coded, this.total)));
  }

  /* The records that have a value of a facet. */
  async having(id, place) {
    const parts = this.parts.get(id);
    let part = 0;
    for (; place >= parts[part]; part++) place -= parts[part];
    return (await this.part(id, part))[place];
  }

  /* The records of every value of a facet. */
  async havingEach(id) {
    return (await Promise.all(this.parts.get(id).map((_, part) => this.part(id, part)))).flat();
  }

  column(name) {
    return index.form(`number-${name}`, columnOf);
  }

  /* The places of those values of a facet that there are. */
  placesOf(facet, ids) {
    const values = this.values.get(facet) || [];
    return ids.map((id) => values.findIndex(([own]) => own === id)).filter((place) => place >= 0);
  }

  namesOf(facet, places) {
    return places.map((place) => this.values.get(facet)[place][1]).join(" or ");
  }

  /* The records that have one of some values of a facet. */
  async havingAny(facet, places) {
    const set = nothing(this.total);
    for (const own of await Promise.all(places.map((place) => this.having(facet, place)))) addTo(set, own);
    return set;
  }

  /* Every restriction of a state that is in force: {key, facet, value, words, set}. The parts of
     the index that they need are asked for together. */
  async restrictions(state) {
    return Promise.all([
      ...this.techniques(state),
      ...LISTS.flatMap((facet) => this.listed(facet, state[facet])),
      ...Object.keys(RANGES).flatMap((key) => this.range(key, state[key])),
      ...this.ownThread(state.own),
    ]);
  }

  /* With each technique, or with any of them, and without others. */
  techniques(state) {
    const asked = this.placesOf("technique", state.with);
    const anyOf = async () => ({
      key: "with",
      facet: "technique-any",
      words: `with ${this.namesOf("technique", asked)}`,
      set: await this.havingAny("technique", asked),
    });
    const one = async (key, word, place) => {
      const [value, name] = this.values.get("technique")[place];
      const having = await this.having("technique", place);
      const set = key === "with" ? having : without(everything(this.total), having);
      return { key, value, words: `${word} ${name}`, set };
    };
    return [
      ...(!state.any ? asked.map((place) => one("with", "with", place)) : asked.length ? [anyOf()] : []),
      ...this.placesOf("technique", state.not).map((place) => one("not", "without", place)),
    ];
  }

  listed(facet, ids) {
    const places = this.placesOf(facet, ids);
    const words = `${TITLES[facet].toLowerCase().replace("?", "")}: ${this.namesOf(facet, places)}`;
    const restriction = async () => ({ key: facet, facet, words, set: await this.havingAny(facet, places) });
    return places.length ? [restriction()] : [];
  }

  range(key, [from, to]) {
    const { title, unit, tenths, columns } = RANGES[key];
    const least = from === null ? 1 : Math.max(1, Math.round(from * tenths));
    const most = to === null ? Infinity : Math.round(to * tenths);
    const named = title.toLowerCase() === unit ? "" : `${title.toLowerCase()}: `;
    const range = from === null ? `at most ${to}` : to === null ? `at least ${from}` : from === to ? from : `${from} to ${to}`;
    const words = `${named}${range} ${(to ?? from) === 1 ? unit.replace(/s$/, "") : unit}`;
    const restriction = async () => ({ key, words, set: await this.within(columns, least, most) });
    return from === null && to === null ? [] : [restriction()];
  }

  ownThread(own) {
    const wraps = this.threads.wrapsOf(own);
    const restriction = async () => {
      const set = await this.within(["wrapsfrom", "wrapsto"], Math.round(10 * wraps.low), Math.round(10 * wraps.high));
      return { key: "own", words: `for ${wraps.words}`, set };
    };
    return wraps ? [restriction()] : [];
  }

  /* The records whose number, or whose range from one column to the other, meets a range. */
  async within(columns, least, most) {
    const [low, high] = await Promise.all([columns[0], columns[columns.length - 1]].map((name) => this.column(name)));
    const set = nothing(this.total);
    for (let record = 0; record < this.total; record++) {
      if (low[record] && high[record] >= least && low[record] <= most) {
        set[record >> 5] |= 1 << (record & 31);
      }
    }
    return set;
  }
}
