/* ---- filters: which records have a value, and what a state asks for ---- */

class Facets {
  constructor({ records, facets, threads }) {
    this.total = records;
    this.values = new Map(facets.map(({ id, values }) => [id, values]));
    this.parts = new Map(facets.map(({ id, parts }) => [id, parts]));
    this.threads = threads;
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

  /* Every restriction of a state that is in force: {key, facet, value, words, set}. */
  async restrictions(state) {
    const found = [];
    const name = (facet, id) => {
      const values = this.values.get(facet) || [];
      return values.findIndex((value) => value[0] === id);
    };
    const label = (facet, place) => this.values.get(facet)[place][1];
    if (state.any) {
      const set = nothing(this.total);
      const names = [];
      for (const id of state.with) {
        const place = name("technique", id);
        if (place < 0) continue;
        addTo(set, await this.having("technique", place));
        names.push(label("technique", place));
      }
      if (names.length) {
        found.push({ key: "with", facet: "technique-any", words: `with ${names.join(" or ")}`, set });
      }
    } else {
      for (const id of state.with) {
        const place = name("technique", id);
        if (place < 0) continue;
        found.push({ key: "with", value: id, words: `with ${label("technique", place)}`, set: await this.having("technique", place) });
      }
    }
    for (const id of state.not) {
      const place = name("technique", id);
      if (place < 0) continue;
      const set = without(everything(this.total), await this.having("technique", place));
      found.push({ key: "not", value: id, words: `without ${label("technique", place)}`, set });
    }
    for (const facet of LISTS) {
      const places = state[facet].map((id) => name(facet, id)).filter((place) => place >= 0);
      if (!places.length) continue;
      const set = nothing(this.total);
      for (const place of places) addTo(set, await this.having(facet, place));
      const words = `${TITLES[facet].toLowerCase().replace("?", "")}: ${places.map((place) => label(facet, place)).join(" or ")}`;
      found.push({ key: facet, facet, words, set });
    }
    for (const [key, { title, unit, tenths, columns }] of Object.entries(RANGES)) {
      const [from, to] = state[key];
      if (from === null && to === null) continue;
      const least = from === null ? 1 : Math.max(1, Math.round(from * tenths));
      const most = to === null ? Infinity : Math.round(to * tenths);
      const set = await this.within(columns, least, most);
      const named = title.toLowerCase() === unit ? "" : `${title.toLowerCase()}: `;
      const range = from === null ? `at most ${to}` : to === null ? `at least ${from}` : from === to ? from : `${from} to ${to}`;
      found.push({ key, words: `${named}${range} ${(to ?? from) === 1 ? unit.replace(/s$/, "") : unit}`, set });
    }
    const wraps = this.wrapsOf(state.own);
    if (wraps) {
      const set = await this.within(["wrapsfrom", "wrapsto"], Math.round(10 * wraps.low), Math.round(10 * wraps.high));
      found.push({ key: "own", words: `for ${wraps.words}`, set });
    }
    return found;
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

  /* The wraps per cm to expect of a thread: {likely, low, high, words}; null if it is not whole. */
  wrapsOf({ count, plies, system }) {
    const found = this.threads.systems.find(([id]) => id === system);
    if (!found || !(count > 0) || !(plies > 0)) return null;
    const [id, , direct, texOfOne] = found;
    const tex = plies * (direct ? texOfOne * count : texOfOne / count);
    const [likely, low, high] = this.threads.wraps.map((one) => one / Math.sqrt(tex));
    const label = direct ? `${count} ${id}${plies > 1 ? ` × ${plies}` : ""}` : `${id} ${count}/${plies}`;
    const words = `${label}, about ${likely.toFixed(0)} wraps per cm (estimate, ${low.toFixed(0)} to ${high.toFixed(0)})`;
    return { likely, low, high, words };
  }
}
