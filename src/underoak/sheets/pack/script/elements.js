// Making and filling elements. Text is always set as text, never as HTML.

const byId = (id) => document.getElementById(id);

const el = (tag, told = {}, ...children) => {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(told)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, value);
  }
  node.append(...children.flat().filter((c) => c !== null && c !== undefined && c !== false));
  return node;
};

const fill = (node, ...children) => {
  node.replaceChildren(...children.flat().filter((c) => c !== null && c !== undefined && c !== false));
  node.hidden = false;
  return node;
};

const button = (words, onclick, told = {}) => el("button", { type: "button", onclick, ...told }, words);

// A labelled field; what is typed is read from the node that is handed back.
let fields = 0;
const field = (words, node, hint = "") => {
  node.id = node.id || `field-${(fields += 1)}`;
  const help = hint ? el("p", { class: "small", id: `${node.id}-hint` }, hint) : null;
  if (help) node.setAttribute("aria-describedby", help.id);
  return el("div", {}, el("label", { for: node.id }, words), help, node);
};

const choice = (options, chosen = "") =>
  el("select", {}, options.map(([value, words]) => el("option", { value, selected: value === chosen }, words)));

const trouble = (words) => {
  const box = byId("trouble");
  box.textContent = words;
  box.hidden = !words;
};

const grams = (g) => (g >= 1000 ? `${(g / 1000).toFixed(2)} kg` : `${Math.round(g)} g`);

// Clock times are those of the plan's place, whatever zone the telephone is set to.
let planAway = 0;
const awayOf = (text) => {
  const [, sign, h, m] = /([+-])(\d\d):(\d\d)$/.exec(text) ?? [null, "+", "0", "0"];
  return (sign === "-" ? -1 : 1) * (60 * Number(h) + Number(m));
};
const clockOf = (moment) => new Date(moment.getTime() + planAway * 60000).toISOString().slice(11, 16);

// The local moment with its distance from UTC, as RFC 3339 writes it.
const momentText = (moment) => {
  const away = -moment.getTimezoneOffset(), size = Math.abs(away);
  const two = (n) => String(n).padStart(2, "0");
  const local = new Date(moment.getTime() + away * 60000).toISOString().slice(0, 19);
  return `${local}${away < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
};

// A drawing out of the book's own tables, beside words that say the same.
const drawingOf = (svg) => {
  if (!svg) return null;
  const node = document.importNode(new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);
  node.classList.add("drawing");
  return node;
};
