/* ---- how words are cut from a text, folded and compared ---- */

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
