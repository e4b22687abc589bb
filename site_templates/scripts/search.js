/* The search page. Works from a disk: nothing is fetched, parts of the index are scripts that
   hand themselves over by calling takePart. The state lies in the fragment of the address. */
"use strict";

/* A file of the index that is not there. */
class MissingPart extends Error {}

const index = (() => {
  const parts = new Map();
  const waiting = new Map();

  window.takePart = (name, part) => {
    parts.set(name, part);
    (waiting.get(name) || []).forEach((pending) => pending.resolve(part));
    waiting.delete(name);
  };

  /* A part of the index; its script is added where it is not there yet. */
  function need(name) {
    if (parts.has(name)) return Promise.resolve(parts.get(name));
    return new Promise((resolve, reject) => {
      const pending = waiting.get(name);
      if (pending) {
        pending.push({ resolve, reject });
        return;
      }
      waiting.set(name, [{ resolve, reject }]);
      const script = document.createElement("script");
      script.src = `data/${name}.js`;
      script.onerror = () => {
        waiting.get(name).forEach((one) => one.reject(new MissingPart(`data/${name}.js`)));
        waiting.delete(name);
      };
      document.head.append(script);
    });
  }

  const forms = new Map();

  /* A part in the form in which it is used, made once; as it came it is not kept. */
  function form(name, make) {
    if (!forms.has(name)) {
      const made = need(name).then((part) => {
        parts.delete(name);
        return make(part);
      });
      made.catch(() => forms.delete(name));
      forms.set(name, made);
    }
    return forms.get(name);
  }

  return { need, form };
})();

/* ---- how the parts are written ---- */

function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

/* Calls take(number) for each number of seven-bit groups. */
function eachVarint(bytes, take) {
  let number = 0;
  let shift = 0;
  for (let i = 0; i < bytes.length; i++) {
    number |= (bytes[i] & 127) << shift;
    if (bytes[i] & 128) shift += 7;
    else {
      take(number);
      number = 0;
      shift = 0;
    }
  }
}

function setOf(coded, total) {
  const words = new Uint32Array(Math.ceil(total / 32));
  const bytes = bytesOf(coded.slice(1));
  if (coded[0] === "b") {
    for (let i = 0; i < bytes.length; i++) words[i >> 2] |= bytes[i] << (8 * (i & 3));
  } else {
    let record = 0;
    eachVarint(bytes, (distance) => {
      record += distance;
      words[record >> 5] |= 1 << (record & 31);
    });
  }
  return words;
}

/* Numbers as their places among the numbers there are, in a few bits each. */
function columnOf([known, width, coded]) {
  const bytes = bytesOf(coded);
  const column = new Uint32Array(Math.floor((8 * bytes.length) / width));
  for (let i = 0, bit = 0; i < column.length; i++) {
    let place = 0;
    for (let j = 0; j < width; j++, bit++) place |= ((bytes[bit >> 3] >> (bit & 7)) & 1) << j;
    column[i] = known[place];
  }
  return column;
}

/* Postings that are written one by one, as eight times the record and its weight. */
function postingsOf(bytes) {
  let count = 0;
  for (let i = 0; i < bytes.length; i++) count += (bytes[i] >> 7) ^ 1;
  const postings = new Uint32Array(count);
  for (let i = 0, at = 0, record = 0; at < count; at++) {
    let number = bytes[i] & 127;
    for (let shift = 7; bytes[i++] & 128; shift += 7) number |= (bytes[i] & 127) << shift;
    record += number >>> 3;
    postings[at] = (record << 3) | (number & 7);
  }
  return postings;
}

function termsOf(coded) {
  const terms = [];
  let before = "";
  if (coded) {
    for (const line of coded.split("\n")) {
      before = before.slice(0, line.charCodeAt(0) - 48) + line.slice(1);
      terms.push(before);
    }
  }
  return terms;
}

/* Which parts of a sorted list can hold a word, or words with a beginning; `firsts` are the first
   words of the parts. */
function partsWith(firsts, word, beginning) {
  const behind = firsts.findIndex((first) => first > word);
  const from = Math.max(0, (behind < 0 ? firsts.length : behind) - 1);
  let to = from + 1;
  while (beginning && to < firsts.length && firsts[to].startsWith(word)) to++;
  return firsts.map((_, part) => part).slice(from, to);
}

function reversed(word) {
  return [...word].reverse().join("");
}

/* ---- sets of records ---- */

function everything(total) {
  const words = new Uint32Array(Math.ceil(total / 32)).fill(0xffffffff);
  if (total & 31) words[words.length - 1] = (2 ** (total & 31) - 1) >>> 0;
  return words;
}

function both(left, right) {
  const words = new Uint32Array(left.length);
  for (let i = 0; i < words.length; i++) words[i] = left[i] & right[i];
  return words;
}

function addTo(target, other) {
  for (let i = 0; i < target.length; i++) target[i] |= other[i];
}

function without(left, right) {
  const words = new Uint32Array(left.length);
  for (let i = 0; i < words.length; i++) words[i] = left[i] & ~right[i];
  return words;
}

function ones(word) {
  word -= (word >>> 1) & 0x55555555;
  word = (word & 0x33333333) + ((word >>> 2) & 0x33333333);
  return (((word + (word >>> 4)) & 0x0f0f0f0f) * 0x01010101) >>> 24;
}

function sizeOf(words) {
  let size = 0;
  for (let i = 0; i < words.length; i++) size += ones(words[i]);
  return size;
}

/* A set to be compared with many others: {base, filled}, the places of its words that hold any. */
function comparable(base) {
  const filled = new Uint32Array(base.length);
  let count = 0;
  for (let i = 0; i < base.length; i++) if (base[i]) filled[count++] = i;
  return { base, filled: filled.subarray(0, count) };
}

function sharedSize({ base, filled }, words) {
  let size = 0;
  for (let i = 0; i < filled.length; i++) size += ones(words[filled[i]] & base[filled[i]]);
  return size;
}

function eachRecord(words, take) {
  for (let i = 0; i < words.length; i++) {
    let word = words[i];
    while (word) {
      take(32 * i + 31 - Math.clz32(word & -word));
      word &= word - 1;
    }
  }
}

/* Add the records of opened postings to a set. */
function addRecords({ records, single }, set) {
  if (records) addTo(set, records);
  for (const posting of single) set[posting >>> 8] |= 1 << ((posting >>> 3) & 31);
}

/* Raise the scores of those records of a set that opened postings have. */
function weigh({ records, single, rarity, usual }, set, scores) {
  const left = records && both(records, set);
  for (const posting of single) {
    const record = posting >>> 3;
    const bit = 1 << (record & 31);
    if (!(set[record >> 5] & bit)) continue;
    if (left) left[record >> 5] &= ~bit;
    const score = rarity * (1 + (posting & 7));
    if (score > scores[record]) scores[record] = score;
  }
  if (left) {
    eachRecord(left, (record) => {
      if (usual > scores[record]) scores[record] = usual;
    });
  }
}

/* The first `most` records of a set in the order of their keys, equals in the order of the shelf.
   Keeps a heap of the best so far with the worst of them on top. */
function firstOf(words, most, keyOf) {
  const keys = [];
  const records = [];
  const worse = (i, j) => keys[i] > keys[j] || (keys[i] === keys[j] && records[i] > records[j]);
  const swap = (i, j) => {
    [keys[i], keys[j]] = [keys[j], keys[i]];
    [records[i], records[j]] = [records[j], records[i]];
  };
  eachRecord(words, (record) => {
    const key = keyOf(record);
    let at = keys.length;
    if (at < most) {
      keys.push(key);
      records.push(record);
      for (; at && worse(at, (at - 1) >> 1); at = (at - 1) >> 1) swap(at, (at - 1) >> 1);
      return;
    }
    if (key >= keys[0]) return;
    keys[0] = key;
    records[0] = record;
    for (at = 0; ; ) {
      let below = 2 * at + 1;
      if (below >= most) break;
      if (below + 1 < most && worse(below + 1, below)) below++;
      if (!worse(below, at)) break;
      swap(at, below);
      at = below;
    }
  });
  const order = records.map((record, at) => at);
  return order.sort((i, j) => (worse(i, j) ? 1 : -1)).map((at) => records[at]);
}

/* ---- words ---- */

const OTHER_LETTERS = { ø: "o", æ: "ae", œ: "oe", ß: "ss", ł: "l", đ: "d", ð: "d", þ: "th", ı: "i" };

/* The same folding as on the side that wrote the index. */
function folded(text) {
  return text
    .toLowerCase()
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .replace(/[øæœßłđðþı]/g, (letter) => OTHER_LETTERS[letter])
    .replace(/['’‘`´]/g, "");
}

function wordsOf(text) {
  return folded(text).match(/[\p{L}\p{N}]+/gu) || [];
}

/* Whether two words differ by one letter more, less, other, or two changed about. */
function nearly(left, right) {
  const [short, long] = left.length <= right.length ? [left, right] : [right, left];
  if (long.length - short.length > 1 || left === right) return false;
  let start = 0;
  while (start < short.length && short[start] === long[start]) start++;
  let end = 0;
  while (end < short.length - start && short[short.length - 1 - end] === long[long.length - 1 - end]) end++;
  const rest = short.length - start - end;
  if (long.length > short.length) return rest === 0;
  return (
    rest === 1 ||
    (rest === 2 && short[start] === long[start + 1] && short[start + 1] === long[start])
  );
}

const LANGUAGES = { fr: "French", de: "German", nl: "Dutch", da: "Danish", it: "Italian" };

/* ---- answering ---- */

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

/* ---- the state in the address ---- */

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

/* ---- the page ---- */

/* An element; `told` are properties, or attributes where the name has a hyphen or is a role. */
function make(tag, told = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(told)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name.includes("-") || name === "role" || name === "for") element.setAttribute(name, value);
    else element[name] = value;
  }
  element.append(...inside.filter((one) => one !== null));
  return element;
}

function counted(patterns) {
  return `${patterns} ${patterns === 1 ? "pattern" : "patterns"}`;
}

const MOST_OFFERS = 6;
const PAGE_SIZE = 24;
const AT_ONCE = 6;

class SearchPage {
  constructor(searcher, place) {
    this.searcher = searcher;
    this.place = place;
    this.state = readState();
    this.controls = [];
    this.asked = 0;
    this.build();
    window.addEventListener("hashchange", () => {
      if (location.hash.slice(1) !== this.fragment) {
        this.fragment = location.hash.slice(1);
        this.state = readState();
        this.show();
      }
    });
  }

  /* Change the state. A step that Back should undo makes a new entry in the history. */
  change(changes, { step = true } = {}) {
    Object.assign(this.state, changes);
    this.fragment = fragmentOf(this.state);
    if (step) location.hash = this.fragment;
    else location.replace(`#${this.fragment}`);
    return this.show();
  }

  build() {
    this.box = make("input", {
      type: "search",
      id: "asked",
      autocomplete: "off",
      spellcheck: false,
      oninput: () => this.change({ q: this.box.value }, { step: false }),
    });
    this.form = make(
      "form",
      { className: "asked", role: "search", onsubmit: (event) => { event.preventDefault(); this.submit(); } },
      make("label", { for: "asked" }, "Words in any language: a technique, a title, a shelfmark, “up to 20 pairs”, “no gimp”"),
      this.box,
      make("button", { type: "submit" }, "Search"),
    );
    this.past = make(
      "button",
      { type: "button", className: "skip", onclick: () => (this.list.querySelector("a") || this.box).focus() },
      "Skip the filters",
    );
    this.offered = make("p", { className: "offered" });
    this.remarks = make("div", { className: "means" });
    this.active = make("ul", { className: "active", "aria-label": "Filters in force" });
    this.count = make("h2", { id: "results", tabIndex: -1 });
    /* Where the results lie below the filters: leads there, and tells how many there are. */
    this.done = make("button", { type: "button", className: "done", onclick: () => this.toResults() });
    this.status = make("p", { className: "unseen", role: "status" });
    this.sorting = make(
      "select",
      { id: "sorting", onchange: () => this.change({ sort: this.sorting.value }) },
      ...Object.entries(SORTS).map(([key, { words }]) => make("option", { value: key }, words)),
    );
    this.list = make("ul", { className: "cards" });
    this.nothing = make("div", { className: "nothing" });
    this.more = make("button", { type: "button", className: "more", onclick: () => this.showMore() }, "Show more");
    this.part = make("p", { className: "note part" });
    const wide = matchMedia("(min-width: 56rem)").matches;
    this.panel = make("details", { className: "filters", open: wide }, make("summary", {}, "Filters"));
    this.place.append(
      this.form,
      this.offered,
      this.past,
      this.remarks,
      make(
        "div",
        { className: "body" },
        this.panel,
        make(
          "section",
          { "aria-labelledby": "results" },
          make("div", { className: "told" }, this.count, make("span", { className: "sorting" }, make("label", { for: "sorting" }, "Sort by"), this.sorting)),
          this.status,
          this.active,
          this.nothing,
          this.list,
          this.part,
          this.more,
        ),
      ),
    );
  }

  filters() {
    const panel = make("div");
    for (const { id, values } of this.searcher.root.facets) {
      const inside = id === "technique" ? this.techniques(values) : this.choices(id, values);
      panel.append(this.group(TITLES[id], inside, id === "technique" || id === "level"));
      if (id === "technique") {
        for (const [key, range] of Object.entries(RANGES)) {
          const inside = key === "wraps" ? [this.range(key, range), this.ownThread()] : [this.range(key, range)];
          panel.append(this.group(range.title, inside, key === "pairs"));
        }
      }
    }
    return panel;
  }

  group(title, inside, open) {
    return make(
      "details",
      { open },
      make("summary", {}, title),
      make("fieldset", {}, make("legend", { className: "unseen" }, title), ...[inside].flat()),
    );
  }

  /* Values as a list, narrower ones under the broader. */
  nested(values, row) {
    const lists = new Map([[-1, make("ul")]]);
    const rows = values.map((value, place) => make("li", {}, row(value, place)));
    values.forEach((value, place) => {
      const above = value[2];
      if (!lists.has(above)) {
        lists.set(above, make("ul"));
        rows[above].append(lists.get(above));
      }
      lists.get(above).append(rows[place]);
    });
    return lists.get(-1);
  }

  choices(facet, values) {
    return this.nested(values, ([id, name], place) => {
      const tick = make("input", {
        type: "checkbox",
        onchange: () => {
          const others = this.state[facet].filter((one) => one !== id);
          this.change({ [facet]: tick.checked ? [...others, id] : others });
        },
      });
      const count = make("span", { className: "count" });
      const label = make("label", { className: "choice" }, tick, name, count);
      this.controls.push((state, counts) => {
        tick.checked = state[facet].includes(id);
        if (!counts) return;
        count.textContent = counts[facet][place];
        label.classList.toggle("none", !counts[facet][place] && !tick.checked);
      });
      return label;
    });
  }

  techniques(values) {
    const mode = make("select", {
      id: "mode",
      onchange: () => this.change({ any: mode.value === "any" }),
    }, make("option", { value: "all" }, "all of them"), make("option", { value: "any" }, "any of them"));
    this.controls.push((state) => (mode.value = state.any ? "any" : "all"));
    const list = this.nested(values, ([id, name], place) => {
      const radios = [["", "–", "either way"], ["with", "with", "with"], ["not", "not", "without"]].map(([value, short, said]) =>
        make("input", {
          type: "radio",
          name: `technique-${id}`,
          value,
          "aria-label": `${said}`,
          onchange: () =>
            this.change({
              with: [...this.state.with.filter((one) => one !== id), ...(value === "with" ? [id] : [])],
              not: [...this.state.not.filter((one) => one !== id), ...(value === "not" ? [id] : [])],
            }),
        }, short),
      );
      const labels = ["–", "with", "not"].map((short, at) => make("label", {}, radios[at], short));
      const count = make("span", { className: "count" });
      const row = make(
        "div",
        { className: "both choice", role: "radiogroup", "aria-label": name },
        make("span", {}, name),
        count,
        make("span", { className: "toggles" }, ...labels),
      );
      this.controls.push((state, counts) => {
        const chosen = state.with.includes(id) ? "with" : state.not.includes(id) ? "not" : "";
        radios.forEach((radio) => (radio.checked = radio.value === chosen));
        if (!counts) return;
        count.textContent = counts.technique[place];
        row.classList.toggle("none", !counts.technique[place] && !chosen);
      });
      return row;
    });
    return make(
      "div",
      {},
      make("p", { className: "choice" }, make("label", { for: "mode" }, "Those marked “with”:"), mode),
      make("div", { className: "scroll" }, list),
    );
  }

  range(key, { title, unit, tenths }) {
    const inputs = ["from", "to"].map((side, at) =>
      make("input", {
        type: "number",
        min: 0,
        step: tenths === 1 ? 1 : 0.5,
        "aria-label": `${title} ${side}, ${unit}`,
        onchange: () => {
          const both = [...this.state[key]];
          both[at] = inputs[at].value === "" ? null : Math.max(0, Number(inputs[at].value));
          this.change({ [key]: both });
        },
      }),
    );
    this.controls.push((state) => inputs.forEach((input, at) => (input.value = state[key][at] ?? "")));
    return make("div", { className: "range" }, inputs[0], "to", inputs[1], unit);
  }

  /* A thread the reader has, by its number: which patterns may suit it. */
  ownThread() {
    const told = () => {
      const own = { count: Number(count.value) || null, plies: Number(plies.value) || 1, system: system.value };
      const same = Object.keys(own).every((key) => own[key] === this.state.own[key]);
      if (own.count && own.system && !same) this.change({ own });
    };
    const count = make("input", { type: "number", id: "own-count", min: 0, step: "any", onchange: told });
    const plies = make("input", { type: "number", id: "own-plies", min: 1, step: 1, onchange: told });
    const systems = this.searcher.root.threads.systems;
    const system = make(
      "select",
      { id: "own-system", onchange: told },
      make("option", { value: "" }, "choose"),
      ...systems.map(([id, name]) => make("option", { value: id }, name === id ? id : `${name} (${id})`)),
    );
    this.controls.push(({ own }) => {
      count.value = own.count || "";
      plies.value = own.plies || "";
      system.value = own.system;
    });
    const field = (words, control) => make("label", { for: control.id }, words, control);
    return make(
      "div",
      { className: "own", role: "group", "aria-label": "A thread you have" },
      make("p", {}, "Or a thread you have, by the number on its label:"),
      make("div", { className: "two" }, field("Number", count), field("Plies", plies)),
      field("Numbered in", system),
      make("p", { className: "note" }, "Its wraps are estimated from the number, within 15 %. Winding it on a ruler tells more."),
    );
  }

  async show() {
    const turn = ++this.asked;
    this.panel.setAttribute("aria-busy", "true");
    try {
      const answer = await this.searcher.answer(this.state);
      const offer = await this.searcher.offer(this.state);
      if (turn !== this.asked) return;
      this.offer = offer && (offer.total || !answer.total) ? offer : null;
      await this.showAnswer(answer);
      const counts = await this.searcher.counts(answer);
      if (turn !== this.asked) return;
      this.controls.forEach((follow) => follow(this.state, counts));
      this.panel.removeAttribute("aria-busy");
    } catch (fault) {
      tellMissing(this.place, fault);
    }
  }

  async showAnswer(answer) {
    const { state, offer } = this;
    if (this.box.value !== state.q) this.box.value = state.q;
    this.sorting.value = state.sort;
    const none = offer ? "No pattern has these words" : answer.conditions.length > 1 ? "No pattern fits all of this" : "No pattern fits";
    const told = answer.total ? counted(answer.total) : none;
    this.count.textContent = told;
    this.status.textContent = [answer.total ? `${told} found` : told, ...(offer ? [this.offerWords()] : [])].join(". ");
    this.offered.replaceChildren(...(offer ? this.offerShown() : []));
    this.done.textContent = answer.total ? `Show ${told}` : told;
    const plain = answer.remarks.filter(({ typed }) => !offer || !offer.taken.includes(typed));
    this.remarks.replaceChildren(...plain.map((remark) => this.remark(remark)).filter(Boolean));
    this.active.replaceChildren(
      ...answer.restrictions.map((one) =>
        make("li", {}, make("button", { type: "button", title: "Take this filter away", onclick: () => this.drop([one]) }, `${one.words} ×`)),
      ),
    );
    this.active.hidden = !answer.restrictions.length;
    this.panel.hidden = !this.searcher.total;
    this.nothing.replaceChildren(...(answer.total || (offer && offer.total) ? [] : this.loosening(answer)));
    this.answer = answer;
    this.shown = 0;
    this.list.replaceChildren();
    // The first few stand there before the parts with the others have come.
    await this.showCards(AT_ONCE);
    if (!this.controls.length) this.panel.append(this.filters(), this.done);
    this.controls.forEach((follow) => follow(state));
    await this.showCards(PAGE_SIZE - AT_ONCE);
    await this.comeBack();
  }

  /* Remember where a reader leaves to a pattern, in the history's entry for this state. */
  leave(link) {
    const place = { shown: this.shown, top: window.scrollY, href: link.getAttribute("href") };
    history.replaceState(place, "");
  }

  /* Stand again where a reader who comes back left, however many results that needs. */
  async comeBack() {
    const left = history.state;
    if (!left) return;
    await this.showCards(Math.max(0, left.shown - this.shown));
    const links = [...this.list.querySelectorAll("a")];
    const link = links.find((one) => one.getAttribute("href") === left.href);
    if (link) link.focus({ preventScroll: true });
    window.scrollTo(0, left.top);
  }

  /* Show `more` further results; returns the first of them. */
  async showCards(more) {
    const answer = this.answer;
    const ranked = await this.searcher.ranked(answer, this.shown + more);
    const records = await Promise.all(ranked.slice(this.shown).map((number) => this.searcher.record(number)));
    if (answer !== this.answer) return null;
    const cards = records.map((record) => this.card(record));
    this.list.append(...cards);
    this.shown += cards.length;
    this.more.hidden = this.shown >= answer.total;
    this.part.textContent = this.more.hidden ? "" : `The first ${this.shown} of ${counted(answer.total)}.`;
    return cards[0];
  }

  async showMore() {
    try {
      const first = await this.showCards(PAGE_SIZE);
      if (first) first.querySelector("a").focus();
    } catch (fault) {
      tellMissing(this.place, fault);
    }
  }

  toResults() {
    this.panel.open = false;
    this.count.focus();
    this.count.scrollIntoView();
  }

  /* Whoever asks for what no pattern has in words, but some by filter, gets those. */
  async submit() {
    await this.change({ q: this.box.value });
    if (this.offer && this.offer.total && !this.answer.total) this.takeOffer();
  }

  offerWords() {
    const { words, total } = this.offer;
    return `By filter: ${words} – ${total ? counted(total) : "no pattern"}`;
  }

  /* A button where it leads to patterns, else the plain words. */
  offerShown() {
    const words = this.offerWords();
    return [this.offer.total ? make("button", { type: "button", onclick: () => this.takeOffer() }, words) : words];
  }

  /* Filter by what was typed. */
  takeOffer() {
    this.change(this.offer.changes);
    this.count.focus();
  }

  /* Take filters and words away. */
  drop(these) {
    const changes = {};
    for (const { key, value } of these) {
      if (key === "q") changes.q = this.typedBut(these);
      else if (key === "own") changes.own = OWN;
      else if (value) changes[key] = (changes[key] || this.state[key]).filter((id) => id !== value);
      else changes[key] = key in RANGES ? [null, null] : [];
    }
    this.change(changes);
    this.count.focus();
  }

  /* What was typed without some of its words; a space behind a word says that it is whole. */
  typedBut(these) {
    const left = this.answer.segments.filter((one) => !these.includes(one));
    const typing = left.length && left[left.length - 1].typing;
    return left.map(({ words }) => words).join(" ") + (left.length && !typing ? " " : "");
  }

  remark({ typed, instead, names }) {
    if (names) {
      const meant = new Map();
      const same = new Map();
      for (const { facet, value, language, name } of names) {
        const [, label, , page] = this.searcher.facets.get(facet)[value];
        const words = page ? make("a", { href: page }, label) : label;
        if (wordsOf(label).join(" ") !== wordsOf(name).join(" ")) {
          const how = language === "en" ? "another word for " : `${LANGUAGES[language]} for `;
          meant.set(`${facet}${value}`, [how, words]);
        } else if (page) same.set(value, [words]);
      }
      const told = meant.size ? meant : same;
      if (!told.size) return null;
      const parts = [...told.values()].flatMap((words, at) => (at ? [", or ", ...words] : words));
      return make("p", {}, meant.size ? `“${typed}” is ` : "What is it? See ", ...parts, ".");
    }
    if (!instead.length) return make("p", {}, `No pattern has the word “${typed}”.`);
    const meant = instead.slice(0, 5);
    const offers = meant.flatMap((words, at) => [
      at ? " or " : "",
      make("button", { type: "button", className: "word", onclick: () => this.take(words, typed) }, words),
    ]);
    const shown = `${meant.length > 1 ? "Their" : "Its"} patterns are shown.`;
    return make("p", {}, `No pattern has “${typed}”. Did you mean `, ...offers, `? ${shown}`);
  }

  /* Write other words in the place of one that was typed. */
  take(words, typed) {
    this.change({ q: wordsOf(this.state.q).map((word) => (word === typed ? words : word)).join(" ") });
    this.count.focus();
  }

  loosening(answer) {
    if (!this.searcher.total) return [make("p", {}, "The collection has no patterns yet.")];
    const link = (href, words) => make("a", { href }, words);
    const offers = answer.loosen.map(({ these, hits }) => {
      const kept = answer.conditions.filter((one) => !these.includes(one));
      const alone = these.length > 1 && kept.length === 1;
      const named = (alone ? kept : these).map((one) => `“${one.words}”`).join(" and ");
      const words = `${alone ? "Keep only" : "Take away"} ${named}`;
      const button = { type: "button", onclick: () => this.drop(these) };
      return make("li", {}, make("button", button, `${words}: ${counted(hits)}`));
    });
    return [
      make("ul", { className: "plain" }, ...offers),
      make(
        "p", {}, "Or look through the ", link("techniques.html", "techniques"), ", the ", link("families.html", "families"),
        " or the ", link("shelf.html", "shelf list"), ".",
      ),
      make("button", { type: "button", onclick: () => this.clear() }, "Start again"),
    ];
  }

  clear() {
    const empty = { q: "", any: false, with: [], not: [], own: OWN };
    LISTS.forEach((key) => (empty[key] = []));
    Object.keys(RANGES).forEach((key) => (empty[key] = [null, null]));
    this.change(empty);
    this.box.focus();
  }

  card([path, shelfmark, title, kind, families, pairs, level, width, picture, standIn, corrected, techniques]) {
    const words = { lang: this.place.dataset.language, dir: "auto" };
    return make(
      "li",
      { className: "card" },
      make(
        "a",
        { href: `patterns/${path}.html`, onclick: (event) => this.leave(event.currentTarget) },
        make(
          "span",
          { className: "thumb" },
          make("img", { src: `pictures/${picture}`, alt: "", width: 480, height: 360, loading: "lazy", decoding: "async" }),
          standIn ? make("span", { className: "label" }, "no picture") : null,
        ),
        make("h3", words, title),
      ),
      make("p", { className: "mark" }, shelfmark, corrected ? make("strong", { className: "corrected" }, " corrected") : null),
      make("p", {}, [families, kind].filter(Boolean).join(", ")),
      make("p", {}, [pairs, width].filter(Boolean).join(", ")),
      this.level(level),
      techniques.length ? make("p", { className: "note techniques" }, techniques.join(", ")) : null,
    );
  }

  level(level) {
    const values = this.searcher.facets.get("level") || [];
    const name = (values.find((value) => value[0] === String(level)) || ["", ""])[1];
    const pins = make("span", { className: "pins", "aria-hidden": "true" });
    for (let pin = 1; pin <= 5; pin++) pins.append(make("i", { className: pin <= level ? "on" : "" }));
    return make("p", {}, make("span", { className: "level" }, level ? pins : null, name));
  }
}

/* Say which file is missing and show the lists instead; any other fault is a bug. */
function tellMissing(place, fault) {
  if (!(fault instanceof MissingPart)) throw fault;
  place.replaceChildren(
    make("p", { role: "alert" }, `The search cannot go on: the file “${fault.message}” is missing. Copy the whole folder again; until then the lists below lead to every pattern.`),
  );
  place.hidden = false;
  document.getElementById("browse").hidden = false;
}

window.addEventListener("DOMContentLoaded", async () => {
  const place = document.getElementById("search");
  try {
    const page = new SearchPage(new Searcher(await index.need("root")), place);
    place.hidden = false;
    document.getElementById("browse").hidden = true;
    await page.show();
  } catch (fault) {
    tellMissing(place, fault);
  }
});
