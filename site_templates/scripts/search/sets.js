/* ---- sets of records as bits, their scores and their order ---- */

function everything(total) {
  const words = new Uint32Array(Math.ceil(total / 32)).fill(0xffffffff);
  if (total & 31) words[words.length - 1] = (2 ** (total & 31) - 1) >>> 0;
  return words;
}

function nothing(total) {
  return new Uint32Array(Math.ceil(total / 32));
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
