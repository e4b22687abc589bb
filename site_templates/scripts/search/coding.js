/* ---- how the parts of the index are written ---- */

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
