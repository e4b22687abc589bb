/* ---- elements of the page ---- */

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
