/* The search page. Works from a disk: nothing is fetched, parts of the index are scripts that
   hand themselves over by calling takePart. The state lies in the fragment of the address. */
"use strict";

/* ---- the parts of the index, each asked for once ---- */

/* A file of the index that is not there. */
class MissingPart extends Error {}

const index = (() => {
  const parts = new Map();
  const waiting = new Map();

  /* The page itself has a script with the root, and where the index is one file, with all parts. */
  const root = new Promise((resolve, reject) => waiting.set("root", [{ resolve, reject }]));

  window.takePart = (name, part) => {
    parts.set(name, part);
    (waiting.get(name) || []).forEach((pending) => pending.resolve(part));
    waiting.delete(name);
  };

  /* That a script could not be read is told to its element alone. */
  window.addEventListener(
    "error",
    ({ target }) => {
      const [, path, part] = /\/(data\/([^/]*)\.js)$/.exec(target.src) || [];
      const name = part === "all" ? "root" : part;
      (waiting.get(name) || []).forEach((pending) => pending.reject(new MissingPart(path)));
      waiting.delete(name);
    },
    true,
  );

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
      // The page is first drawn when what its address asks for has come, in browsers that know it.
      if (!document.body) script.setAttribute("blocking", "render");
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

  return { root, need, form };
})();
