/* ---- typed words: what they name, and which records have them ---- */

class Lexicon {
  constructor(root, facets) {
    this.root = root;
    this.total = root.records;
    this.facets = facets;
    this.names = new Map();
    root.names.forEach(([phrase, facet, value, language, name]) => {
      if (!this.names.has(phrase)) this.names.set(phrase, []);
      this.names.get(phrase).push({ phrase, facet, value, language, name });
    });
    this.starts = root.starts.map((own) => own.split(" "));
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
    const sets = await Promise.all(names.map(({ facet, value }) => this.facets.having(facet, value)));
    return sets.map((records) => {
      const usual = 8 * Math.log(1 + this.total / Math.max(1, sizeOf(records)));
      return { records, single: [], rarity: 0, usual };
    });
  }

  /* The records that have all of some words, whose postings are added to those held. */
  async together(words, typing, held) {
    let together = null;
    for (const [place, word] of words.entries()) {
      const found = nothing(this.total);
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
      const own = nothing(this.total);
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
}
