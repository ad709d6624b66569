"use strict";
// The page that answers: which of the listed ways to a color needs nothing but what is ticked.
// Everything about color was worked out before; here are a filter and a minimum. The data are told
// in docs/decisions/lessons.md.

/** Return the ways to a color: some rules of the trade hold only where something near is owned. */
function waysFor(color, owned) {
  return !color.near.length || color.near.some((one) => owned.has(one)) ? color.ways : color.apart;
}

/** Return the first of the ways to a color that needs nothing but what is owned. */
function answer(color, owned) {
  return waysFor(color, owned).find((way) => way.needs.every((marker) => owned.has(marker)));
}

/** Return the one marker that a way needs and that is not owned; nothing where more are missing. */
function missing(way, owned) {
  let only;
  for (const marker of way.needs) {
    if (owned.has(marker)) continue;
    if (only !== undefined) return undefined;
    only = marker;
  }
  return only;
}

/** Return what one marker more would save over all colors, as a map from marker to gain. */
function gains(colors, owned) {
  const total = new Map();
  for (const color of colors) {
    const now = answer(color, owned);
    const best = new Map();
    const apart = waysFor(color, owned) === color.apart;
    for (const way of waysFor(color, owned)) {
      if (way === now) break;
      const marker = missing(way, owned);
      const nearer = marker !== undefined && way.cost < now.cost;
      if (nearer && !best.has(marker)) best.set(marker, way);
    }
    for (const marker of apart ? color.near : []) {
      const way = answer(color, new Set([...owned, marker]));
      if (way.cost < now.cost) best.set(marker, way);
    }
    for (const [marker, way] of best) {
      const gain = total.get(marker) || { saved: 0, colors: [] };
      gain.saved += now.cost - way.cost;
      gain.colors.push({ color, now, way });
      total.set(marker, gain);
    }
  }
  return total;
}

/** Return how many single letters must change to turn one text into another, at most `most`. */
function distance(one, other, most) {
  if (Math.abs(one.length - other.length) > most) return most + 1;
  let row = Array.from({ length: other.length + 1 }, (_, place) => place);
  for (let i = 1; i <= one.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= other.length; j += 1) {
      const same = one[i - 1] === other[j - 1] ? 0 : 1;
      next.push(Math.min(next[j - 1] + 1, row[j] + 1, row[j - 1] + same));
    }
    row = next;
  }
  return row[other.length];
}

/** Return a text as names are compared: without case, marks and doubled blanks. */
function plain(text) {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().replace(/\s+/g, " ").trim();
}

/** Find each line of a pasted list among the markers: found, or the nearest name, or nothing. */
function findNames(text, markers) {
  const lines = text.split(/[\n,;\t]+/).map((line) => line.trim()).filter(Boolean);
  return lines.map((line) => {
    const wanted = plain(line);
    const found = markers.filter((m) => wanted && (plain(m.name) === wanted ||
      plain(m.code) === wanted || plain(`${m.range}/${m.name}`) === wanted));
    if (found.length) return { line, found };
    const most = Math.max(1, Math.floor(wanted.length / 3));
    const far = markers.map((m) => [distance(wanted, plain(m.name), most), m]);
    far.sort((a, b) => a[0] - b[0]);
    return { line, found: [], near: far.length && far[0][0] <= most ? far[0][1] : null };
  });
}

/** Pack a set of numbers below `size` into text for an address, six to a letter, and back. */
const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
function pack(owned, size) {
  let text = "";
  for (let start = 0; start < size; start += 6) {
    let bits = 0;
    for (let bit = 0; bit < 6; bit += 1) if (owned.has(start + bit)) bits |= 1 << bit;
    text += LETTERS[bits];
  }
  return text;
}
function unpack(text, size) {
  const owned = new Set();
  [...text].forEach((letter, place) => {
    const bits = LETTERS.indexOf(letter);
    for (let bit = 0; bit < 6; bit += 1) {
      const marker = 6 * place + bit;
      if (bits > 0 && bits & (1 << bit) && marker < size) owned.add(marker);
    }
  });
  return owned;
}

/** Make the ways of the data as the page was given it easy to read: objects, sorted by cost. */
function opened(data) {
  const markers = data.markers.map(([name, code, range, fill, value, hue], number) => (
    { name, code, range: data.ranges[range], fill, value, hue, number }));
  const steps = data.steps.map(([needs, words]) => ({ needs, words }));
  const way = ([cost, laid, fill, value, off, sure]) => ({
    cost: cost / 1000,
    steps: laid.map((step) => steps[step]),
    needs: [...new Set(laid.flatMap((step) => steps[step].needs))],
    fill,
    value: value / 10,
    off: data.words[off],
    sure: data.words[sure],
  });
  const colors = data.colors.map((color) => ({
    ...color,
    ways: color.ways.map(way),
    apart: color.apart.map(way),
  }));
  return { ...data, markers, colors };
}

/** Make an element with text and children; nothing is ever parsed as markup. */
function made(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name in element && typeof value !== "string") element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** Draw shapes of [x, y, width, height, fill] in a picture of this size. */
function drawn(wide, high, shapes) {
  const space = "http://www.w3.org/2000/svg";
  const drawing = document.createElementNS(space, "svg");
  const about = { width: wide, height: high, viewBox: `0 0 ${wide} ${high}`, "aria-hidden": true };
  for (const [name, value] of Object.entries(about)) drawing.setAttribute(name, value);
  for (const [x, y, width, height, fill] of shapes) {
    const box = document.createElementNS(space, "rect");
    const shape = { x, y, width, height, fill };
    for (const [name, value] of Object.entries(shape)) box.setAttribute(name, value);
    drawing.append(box);
  }
  return drawing;
}

/** Draw a marker's own color. */
function patch(fill) {
  return drawn(22, 22, [[0, 0, 22, 22, PAGE.paper], [2, 2, 18, 18, fill]]);
}

/** Draw wanted and given on the paper's color, edge to edge, their values in gray below. */
function pair(color, way) {
  const fills = [color.fill, way.fill];
  const grays = [gray(color.value), gray(way.value)];
  return drawn(132, 80, [[0, 0, 132, 80, PAGE.paper],
    ...fills.map((fill, place) => [8 + 58 * place, 8, 58, 42, fill]),
    ...grays.map((fill, place) => [8 + 58 * place, 52, 58, 20, fill])]);
}

/** Return how a patch of this value looks in gray. */
function gray(value) {
  return PAGE.grays[Math.max(0, Math.min(100, Math.round(value * 10)))];
}

function by(id) {
  return document.getElementById(id);
}

/** Say what may come nearer, not being listed: beyond one cost three colors, beyond another two. */
function notListed(color, way, owned) {
  if (way.cost <= color.exact || owned.size < 2) return "";
  const some = way.cost <= color.exact + PAGE.bound ? "Three" : "Two or three";
  return `${some} colors together may come nearer.`;
}

/** Draw one color: wanted beside given, what to do, what stays off, and how sure that is. */
function shownColor(color, way, further) {
  const steps = way.steps.map((step) => made("li", {},
    ...step.needs.map((marker) => patch(PAGE.markers[marker].fill)), ` ${step.words}`));
  const values = `Value ${color.value.toFixed(1)} wanted, ${way.value.toFixed(1)} given.`;
  return made("article", { "data-color": color.name, "data-cost": String(way.cost) },
    made("figure", {}, pair(color, way), made("figcaption", {}, "wanted, given")),
    made("div", {},
      made("h3", {}, color.name, color.role ? made("small", {}, ` ${color.role}`) : null),
      color.note ? made("p", { class: "note" }, color.note) : null,
      made("ol", {}, ...steps),
      made("p", {}, made("span", { class: "sure" }, `${values} `), `${way.off} `,
        made("span", { class: "sure" }, `${way.sure} ${further}`))));
}

/** What each color shows now: where, by what way, and what it says besides. */
const SHOWN = new Map();

/** Lay out all colors by passage, once. */
function listColors() {
  const passages = new Map();
  for (const color of PAGE.colors) {
    if (!passages.has(color.passage)) passages.set(color.passage, []);
    const article = made("article");
    passages.get(color.passage).push(article);
    SHOWN.set(color, { article });
  }
  by("colors").replaceChildren(...[...passages].map(([name, articles]) => made("section", {},
    made("h2", {}, name || "Colors"), ...articles)));
}

/** Draw the colors anew whose answer changes: to draw is what takes time. */
function shownColors(owned) {
  for (const [color, shown] of SHOWN) {
    const way = answer(color, owned);
    const further = notListed(color, way, owned);
    if (shown.way === way && shown.further === further) continue;
    const article = shownColor(color, way, further);
    shown.article.replaceWith(article);
    SHOWN.set(color, { article, way, further });
  }
}

const COUNTS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
function counted(number, one, many) {
  return `${COUNTS[number] || number} ${number === 1 ? one : many}`;
}

/** Say which marker more would bring the most over all colors, and what it changes. */
function shownGain(owned) {
  const best = [...gains(PAGE.colors, owned)].sort((a, b) => b[1].saved - a[1].saved || a[0] - b[0]);
  const shows = best.length > 0 && best[0][1].saved >= PAGE.noticeable;
  const told = best.slice(0, shows ? 3 : 0).map(([marker, gain]) => [marker, nearer(gain.colors)]);
  const place = by("one-more");
  if (place.dataset.told === String(told) && place.children.length) return;
  place.dataset.told = String(told);
  place.replaceChildren(shows ? made("ol", {}, ...told.map(([marker, words]) =>
    made("li", { "data-marker": PAGE.markers[marker].name }, patch(PAGE.markers[marker].fill),
      made("strong", {}, ` ${label(PAGE.markers[marker])}`), words)))
    : made("p", {}, "No single one more would make a difference that shows."));
}

/** Say which colors come nearer, those by the most first. */
function nearer(colors) {
  const saved = ({ now, way }) => now.cost - way.cost;
  const names = colors.sort((a, b) => saved(b) - saved(a)).map(({ color }) => color.name);
  const more = names.length > 3 ? ` and ${names.length - 3} more` : "";
  const some = names.slice(0, 3).join(", ");
  return ` brings ${counted(names.length, "color", "colors")} nearer: ${some}${more}.`;
}

function label(marker) {
  const told = PAGE.ranges.length > 1 ? `${marker.name}, ${marker.range}` : marker.name;
  return marker.code ? `${told} (${marker.code})` : told;
}

let owned = new Set();
let keeping;

/** Show the answers for what is ticked now, and keep it on this device and in the address. */
function refresh() {
  by("count").textContent = `${counted(owned.size, "is", "are")} ticked of ${PAGE.markers.length}.`;
  for (const box of document.querySelectorAll("#own input[type=checkbox]")) {
    box.checked = owned.has(Number(box.value));
  }
  shownColors(owned);
  shownGain(owned);
  // the answer is shown first: to keep the ticks and change the address takes as long as all of it
  clearTimeout(keeping);
  keeping = setTimeout(() => keep(pack(owned, PAGE.markers.length)));
}

function keep(text) {
  const hash = `#own=${text}`;
  try {
    localStorage.setItem(PAGE.key, text);
    by("kept").textContent = "Your ticks are kept in this browser on this device, nowhere else.";
  } catch {
    by("kept").textContent = "This browser keeps nothing for this page: save its address instead.";
  }
  try {
    history.replaceState(null, "", hash);
  } catch {
    location.replace(hash);
  }
}

/** Return what was ticked before: what the address says, or else what this browser kept. */
function remembered() {
  const told = /own=([\w-]*)/.exec(location.hash);
  if (told) return unpack(told[1], PAGE.markers.length);
  try {
    return unpack(localStorage.getItem(PAGE.key) || "", PAGE.markers.length);
  } catch {
    return new Set();
  }
}

function tick(markers, on) {
  for (const marker of markers) {
    if (on) owned.add(marker);
    else owned.delete(marker);
  }
  refresh();
}

/** List all markers in the order of their hues, each with a box to tick. */
function listMarkers() {
  const order = [...PAGE.markers].sort((a, b) => a.hue - b.hue);
  by("own").replaceChildren(...order.map((marker) => {
    const box = made("input", { type: "checkbox", value: String(marker.number) });
    box.addEventListener("change", () => tick([marker.number], box.checked));
    return made("label", { "data-find": plain(`${marker.name} ${marker.code} ${marker.range}`) },
      box, patch(marker.fill), made("span", {}, label(marker)));
  }));
}

function search() {
  const wanted = plain(by("search").value);
  for (const entry of by("own").children) entry.hidden = !entry.dataset.find.includes(wanted);
}

function shownMarkers() {
  return [...by("own").children].filter((entry) => !entry.hidden)
    .map((entry) => Number(entry.querySelector("input").value));
}

/** Tick what a pasted list names, and ask about names that are only near. */
function pasteList() {
  const told = findNames(by("list").value, PAGE.markers);
  const found = told.flatMap((one) => one.found.map((marker) => marker.number));
  const asked = told.filter((one) => !one.found.length).map((one) => {
    if (!one.near) return made("li", {}, `“${one.line}” is not among them.`);
    const yes = made("button", { type: "button" }, `Tick ${label(one.near)}`);
    yes.addEventListener("click", () => {
      tick([one.near.number], true);
      yes.closest("li").remove();
    });
    return made("li", {}, `“${one.line}”: did you mean this? `, yes);
  });
  const names = `${counted(found.length, "name is", "names are")} found and ticked.`;
  by("pasted").replaceChildren(made("p", {}, names), made("ul", {}, ...asked));
  tick(found, true);
}

/** Unpack the data: deflated text, so that a lesson for a hundred markers can be mailed. */
async function unfolded(text) {
  const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return JSON.parse(await new Response(stream).text());
}

let PAGE;
async function start() {
  PAGE = opened(await unfolded(by("data").textContent));
  listMarkers();
  listColors();
  owned = remembered();
  by("search").addEventListener("input", search);
  by("all").addEventListener("click", () => tick(shownMarkers(), true));
  by("none").addEventListener("click", () => tick(shownMarkers(), false));
  by("take").addEventListener("click", pasteList);
  by("print").addEventListener("click", () => window.print());
  window.addEventListener("hashchange", () => {
    owned = remembered();
    refresh();
  });
  refresh();
  document.body.classList.add("ready");
}

start().catch(() => {
  by("colors").textContent =
    "This browser is too old to unpack this page. One from 2023 or later can.";
});
