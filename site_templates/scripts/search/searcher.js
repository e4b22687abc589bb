/* ---- which records fit what is asked, and in which order ---- */

class Searcher {
  constructor(root) {
    this.root = root;
    this.total = root.records;
    this.names = new Map();
    root.names.forEach(([phrase, facet, value, language, name]) => {
      if (!this.names.has(phrase)) this.names.set(phrase, []);
      this.names.get(phrase).push({ phrase, facet, value, language, name });
    });
    this.facets = new Map(root.facets.map((facet) => [facet.id, facet.values]));
    this.facetParts = new Map(root.facets.map((facet) => [facet.id, facet.parts]));
    this.starts = root.starts.map((own) => own.split(" "));
  }

  facetPart(id, part) {
    return index.form(`facet-${id}-${part}`, (sets) => sets.map((coded) => setOf(coded, this.total)));
  }

  /* The records that have a value of a facet. */
  async facetSet(id, place) {
    const parts = this.facetParts.get(id);
    let part = 0;
    for (; place >= parts[part]; part++) place -= parts[part];
    return (await this.facetPart(id, part))[place];
  }

  /* The records of every value of a facet. */
  async facetSets(id) {
    return (await Promise.all(this.facetParts.get(id).map((_, part) => this.facetPart(id, part)))).flat();
  }

  column(name) {
    return index.form(`number-${name}`, columnOf);
  }

  /* The names that a phrase is, in the plural too. */
  named(phrase) {
    return (
      this.names.get(phrase) ||
      (phrase.endsWith("s") && this.names.get(phrase.slice(0, -1))) ||
      (phrase.endsWith("es") && this.names.get(phrase.slice(0, -2))) ||
      (phrase.endsWith("ies") && this.names.get(`${phrase.slice(0, -3)}y`)) ||
      []
    );
  }

  namesFrom(start) {
    const found = [];
    if (start.length > 2) {
      for (const [phrase, names] of this.names) if (phrase.startsWith(start)) found.push(...names);
    }
    return found;
  }

  /* Cut what was typed into names of several words and single words. */
  segments(words, typing) {
    const segments = [];
    for (let at = 0; at < words.length; ) {
      let length = Math.min(6, words.length - at);
      let names = [];
      for (; length > 0; length--) {
        const phrase = words.slice(at, at + length).join(" ");
        names = this.named(phrase);
        const last = typing && at + length === words.length;
        if (names.length === 0 && last) names = this.namesFrom(phrase);
        if (names.length || length === 1) break;
      }
      segments.push({
        words: words.slice(at, at + length),
        names,
        typing: typing && at + length === words.length,
      });
      at += length;
    }
    return segments;
  }

  /* The postings of a word, or of all words that begin with it. */
  async postings(word, beginning) {
    const own = beginning ? this.starts.findIndex((starts) => starts.includes(word)) : -1;
    if (own >= 0) {
      const sets = await index.need(`starts${own}`);
      const coded = sets[this.starts[own].indexOf(word)];
      return [{ exact: false, coded }, ...(await this.postings(word, false))];
    }
    const found = [];
    for (const part of partsWith(this.root.firstTerms, word, beginning)) {
      const [terms, coded] = await index.form(`terms${part}`, ([front, postings]) => [termsOf(front), postings]);
      terms.forEach((term, place) => {
        if (term === word || (beginning && term.startsWith(word))) {
          found.push({ exact: term === word, coded: coded[place] });
        }
      });
    }
    return found;
  }

  /* Postings as they are counted: {records, single, rarity, usual}. Where records are a bitmap,
     they weigh `usual`, and only those of another weight are single. */
  opened({ exact, coded }) {
    const share = exact ? 1 : 0.6;
    const rarityOf = (size) => share * Math.log(1 + this.total / size);
    if (coded[0] !== "!") {
      const single = postingsOf(bytesOf(coded));
      return { records: null, single, rarity: rarityOf(single.length), usual: 0 };
    }
    const [bits, others] = coded.slice(2).split("!");
    const records = setOf(`b${bits}`, this.total);
    const rarity = rarityOf(sizeOf(records));
    return { records, single: postingsOf(bytesOf(others)), rarity, usual: rarity * (1 + Number(coded[1])) };
  }

  /* The records of names, which weigh much. */
  async namedPostings(names) {
    const sets = await Promise.all(names.map(({ facet, value }) => this.facetSet(facet, value)));
    return sets.map((records) => {
      const usual = 8 * Math.log(1 + this.total / Math.max(1, sizeOf(records)));
      return { records, single: [], rarity: 0, usual };
    });
  }

  /* The records that have all of some words, whose postings are added to those held. */
  async together(words, typing, held) {
    let together = null;
    for (const [place, word] of words.entries()) {
      const found = new Uint32Array(Math.ceil(this.total / 32));
      for (const one of await this.postings(word, typing && place === words.length - 1)) {
        held.push(this.opened(one));
        addRecords(held.at(-1), found);
      }
      together = together ? both(together, found) : found;
    }
    return together;
  }

  /* How well each record of a set fits: of each segment the best of what the record has of it. */
  scoresOf(set, segments) {
    const scores = new Float32Array(this.total);
    segments.forEach(({ postings }, place) => {
      const best = place ? new Float32Array(this.total) : scores;
      for (const one of postings) weigh(one, set, best);
      if (place) eachRecord(set, (record) => (scores[record] += best[record]));
    });
    return scores;
  }

  /* Words that are one slip away from a word that is found nowhere. A slip leaves the first or
     the last letters of a word as they are, so few words need to be looked at. */
  async guesses(word) {
    if (word.length < 4) return { words: [], names: [] };
    const names = [];
    for (const [phrase, list] of this.names) if (nearly(phrase, word)) names.push(...list);
    const kept = (word.length - 1) >> 1;
    const like = [
      ...(await this.wordsWith("words", word.slice(0, kept))),
      ...(await this.wordsWith("ends", reversed(word).slice(0, kept))).map(reversed),
    ];
    return { words: [...new Set(like)].filter((term) => nearly(term, word)).sort(), names };
  }

  /* The words of a dictionary that begin in a certain way. */
  async wordsWith(name, start) {
    const found = [];
    for (const part of partsWith(this.root[name], start, true)) {
      found.push(...(await index.form(`${name}${part}`, termsOf)).filter((word) => word.startsWith(start)));
    }
    return found;
  }

  /* What was typed: {segments, remarks}, of each segment its words, its postings and its set. */
  async text(query) {
    const words = wordsOf(query);
    const remarks = [];
    const segments = [];
    for (const segment of this.segments(words, !/\s$/.test(query))) {
      const own = new Uint32Array(Math.ceil(this.total / 32));
      const held = await this.namedPostings(segment.names);
      held.forEach((one) => addRecords(one, own));
      addTo(own, await this.together(segment.words, segment.typing, held));
      const typed = segment.words.join(" ");
      if (sizeOf(own) === 0) {
        // A shelfmark may be typed in one: “p08” is “P-08”.
        held.length = 0;
        addTo(own, await this.together(typed.match(/\p{L}+|\p{N}+/gu), segment.typing, held));
      }
      if (sizeOf(own) === 0) {
        held.length = 0;
        const guessed = await this.guesses(typed);
        for (const word of guessed.words) held.push(...(await this.postings(word, false)).map((one) => this.opened(one)));
        held.push(...(await this.namedPostings(guessed.names)));
        held.forEach((one) => addRecords(one, own));
        const instead = [...new Set([...guessed.words, ...guessed.names.map((one) => one.name)])];
        remarks.push({ typed, instead });
      } else {
        const shown = segment.names.filter((one) => one.phrase === typed || this.named(typed).includes(one));
        if (shown.length) remarks.push({ typed, names: shown });
      }
      segments.push({ key: "q", words: typed, typing: segment.typing, postings: held, set: own });
    }
    return { segments, remarks };
  }

  /* Every restriction of a state that is in force: {kind, value, words, set}. */
  async restrictions(state) {
    const found = [];
    const name = (facet, id) => {
      const values = this.facets.get(facet) || [];
      return values.findIndex((value) => value[0] === id);
    };
    const label = (facet, place) => this.facets.get(facet)[place][1];
    if (state.any) {
      const set = new Uint32Array(Math.ceil(this.total / 32));
      const names = [];
      for (const id of state.with) {
        const place = name("technique", id);
        if (place < 0) continue;
        addTo(set, await this.facetSet("technique", place));
        names.push(label("technique", place));
      }
      if (names.length) {
        found.push({ key: "with", facet: "technique-any", words: `with ${names.join(" or ")}`, set });
      }
    } else {
      for (const id of state.with) {
        const place = name("technique", id);
        if (place < 0) continue;
        found.push({ key: "with", value: id, words: `with ${label("technique", place)}`, set: await this.facetSet("technique", place) });
      }
    }
    for (const id of state.not) {
      const place = name("technique", id);
      if (place < 0) continue;
      const set = without(everything(this.total), await this.facetSet("technique", place));
      found.push({ key: "not", value: id, words: `without ${label("technique", place)}`, set });
    }
    for (const facet of LISTS) {
      const places = state[facet].map((id) => name(facet, id)).filter((place) => place >= 0);
      if (!places.length) continue;
      const set = new Uint32Array(Math.ceil(this.total / 32));
      for (const place of places) addTo(set, await this.facetSet(facet, place));
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
    const set = new Uint32Array(Math.ceil(this.total / 32));
    for (let record = 0; record < this.total; record++) {
      if (low[record] && high[record] >= least && low[record] <= most) {
        set[record >> 5] |= 1 << (record & 31);
      }
    }
    return set;
  }

  /* The wraps per cm to expect of a thread: {likely, low, high, words}; null if it is not whole. */
  wrapsOf({ count, plies, system }) {
    const found = this.root.threads.systems.find(([id]) => id === system);
    if (!found || !(count > 0) || !(plies > 0)) return null;
    const [id, , direct, texOfOne] = found;
    const tex = plies * (direct ? texOfOne * count : texOfOne / count);
    const [likely, low, high] = this.root.threads.wraps.map((one) => one / Math.sqrt(tex));
    const label = direct ? `${count} ${id}${plies > 1 ? ` × ${plies}` : ""}` : `${id} ${count}/${plies}`;
    const words = `${label}, about ${likely.toFixed(0)} wraps per cm (estimate, ${low.toFixed(0)} to ${high.toFixed(0)})`;
    return { likely, low, high, words };
  }

  /* The records that fit a state, and what stands in the way where none does. */
  async answer(state) {
    const { segments, remarks } = await this.text(state.q);
    const restrictions = await this.restrictions(state);
    const conditions = [...segments, ...restrictions];
    const but = (left) => this.shared(conditions.filter((one) => !left(one)));
    const set = this.shared(conditions);
    const total = sizeOf(set);
    const loosen = total ? [] : this.loosen(conditions);
    const scores = segments.length && state.sort === "fit" ? this.scoresOf(set, segments) : null;
    return { total, set, but, scores, sort: state.sort, segments, restrictions, conditions, loosen, remarks };
  }

  /* What was typed that means filters: {changes, taken, words, total}, how the state would change,
     by which words, what the filters say and how many records fit then; null if nothing does. */
  async offer(state) {
    const found = filtersIn(state.q, (phrase) => this.named(phrase));
    if (!found.taken.length) return null;
    const joined = (old, names) => [
      ...new Set([...old, ...names.map(({ value }) => this.facets.get("technique")[value][0])]),
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
      const values = this.facets.get(facet) || [];
      if (!values.some(([id]) => id === answer)) unknown.push(`${TITLES[facet].toLowerCase()}: ${answer}`);
    }
    const before = (await this.restrictions(state)).map(({ words }) => words);
    const { total, restrictions } = await this.answer({ ...state, ...changes });
    const filters = restrictions.map(({ words }) => words).filter((words) => !before.includes(words));
    filters.push(...unknown);
    if (!filters.length) return null;
    const rest = found.rest.length ? [`“${found.rest.join(" ")}”`] : [];
    return { changes, taken: found.taken, words: [...rest, ...filters].join(", "), total: unknown.length ? 0 : total };
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
      const sets = await this.facetSets(id);
      const own = (one) => one.facet === (id === "technique" ? "technique-any" : id);
      const base = answer.restrictions.some(own) ? comparable(answer.but(own)) : whole;
      counts[id] = sets.map((words) => sharedSize(base, words));
    };
    await Promise.all([...this.facets].map(count));
    return counts;
  }

  /* The first `most` records of an answer, the best first. */
  async ranked({ set, scores, sort }, most) {
    if (sort === "title") return this.byTitle(set, most);
    const name = SORTS[sort].column;
    if (!name) return firstOf(set, most, scores ? (record) => -scores[record] : () => 0);
    const column = await this.column(name);
    return firstOf(set, most, (record) => column[record] || Infinity);
  }

  /* The first records of a set by title; only the parts of that order are read which hold them. */
  async byTitle(set, most) {
    const partOf = await this.column("title");
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
