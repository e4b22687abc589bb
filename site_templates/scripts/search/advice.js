/* ---- advice: what typed words mean, and what to do where nothing fits ---- */

const LANGUAGES = { fr: "French", de: "German", nl: "Dutch", da: "Danish", it: "Italian" };

function offerWords({ words, total }) {
  return `By filter: ${words} – ${total ? counted(total) : "no pattern"}`;
}

/* A button where it leads to patterns, else the plain words. */
function offerShown(page, offer) {
  const words = offerWords(offer);
  return offer.total ? make("button", { type: "button", onclick: () => page.takeOffer(offer) }, words) : make("span", {}, words);
}

/* Stands in the place of results where words find nothing and offers do. */
function asFilters({ offers }) {
  const how = offers.length > 1 ? "one of the buttons above" : "Enter in the search box, or the button above";
  return `These words can also mean filters. To search by them, press ${how}.`;
}

/* What a word means, or that no pattern has it; null where there is nothing to tell. */
function remarkShown(page, { typed, instead, names }) {
  if (names) {
    const meant = new Map();
    const same = new Map();
    for (const { facet, value, language, name } of names) {
      const [, label, , href] = page.searcher.facets.values.get(facet)[value];
      const words = href ? make("a", { href }, label) : label;
      if (wordsOf(label).join(" ") !== wordsOf(name).join(" ")) {
        const how = language === "en" ? "another word for " : `${LANGUAGES[language]} for `;
        meant.set(`${facet}${value}`, [how, words]);
      } else if (href) same.set(value, [words]);
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
    make("button", { type: "button", className: "word", onclick: () => page.take(words, typed) }, words),
  ]);
  const shown = `${meant.length > 1 ? "Their" : "Its"} patterns are shown.`;
  return make("p", {}, `No pattern has “${typed}”. Did you mean `, ...offers, `? ${shown}`);
}

/* What to take away where nothing fits, and where else to look. */
function loosening(page, answer) {
  if (!page.searcher.total) return [make("p", {}, "The collection has no patterns yet.")];
  const link = (href, words) => make("a", { href }, words);
  const offers = answer.loosen.map(({ these, hits }) => {
    const kept = answer.conditions.filter((one) => !these.includes(one));
    const alone = these.length > 1 && kept.length === 1;
    const named = (alone ? kept : these).map((one) => `“${one.words}”`).join(" and ");
    const words = `${alone ? "Keep only" : "Take away"} ${named}`;
    const button = { type: "button", onclick: () => page.drop(these) };
    return make("li", {}, make("button", button, `${words}: ${counted(hits)}`));
  });
  return [
    make("ul", { className: "plain" }, ...offers),
    make(
      "p", {}, "Or look through the ", link("techniques.html", "techniques"), ", the ", link("families.html", "families"),
      " or the ", link("shelf.html", "shelf list"), ".",
    ),
    make("button", { type: "button", onclick: () => page.clear() }, "Start again"),
  ];
}
