"use strict";
// The page that answers: which of the listed ways to a color needs nothing but what is ticked.
// Everything about color was worked out before; here are a filter and a minimum. The data are told
// in docs/decisions/lessons.md.

/** Return what is listed: some rules of the trade hold only where something near is owned. */
function listFor(color, owned) {
  return !color.apart || color.near.some((one) => owned.has(one)) ? color.listed : color.apart;
}

/** Return the first of the ways that need nothing but what is owned, or a pair that is nearer. */
function answer(color, owned) {
  const list = listFor(color, owned);
  const way = list.ways.find(({ needs }) => needs.every((marker) => owned.has(marker)));
  const pair = isListed(list, way) ? undefined : nearestPair(list, owned, owned);
  return pair && pair.cost < way.cost ? pair : way;
}

/** Return whether all that is nearer than a way is listed, or it is the one asked by its name. */
function isListed(list, way) {
  return way.cost <= list.exact || (list.named && way === list.ways[0]);
}

/** Return the nearest pair of one marker and another that isn't among the ways; maybe nothing. */
function nearestPair({ pairs }, ones, others) {
  let [best, found] = [Infinity];
  for (const one of ones) for (const other of others) {
    const cost = one === other ? Infinity : pairs.costs[pairAt(one, other)];
    if (cost < best) [best, found] = [cost, [Math.min(one, other), Math.max(one, other)]];
  }
  return found && pairs.way(...found);
}

const pairAt = (one, other) =>
  (one < other ? other * (other - 1) / 2 + one : one * (one - 1) / 2 + other);

/** Return what one marker more would save over all colors, as a map from marker to gain. */
function gains(colors, owned) {
  const total = new Map();
  for (const color of colors) {
    const now = answer(color, owned);
    const best = new Map();
    const list = listFor(color, owned);
    const offer = (marker, way) => {
      if (way && way.cost < (best.get(marker) || now).cost) best.set(marker, way);
    };
    for (const way of list.ways) {
      if (way === now) break;
      const missing = way.needs.filter((marker) => !owned.has(marker));
      if (missing.length === 1) offer(missing[0], way);
    }
    if (!isListed(list, now)) for (const { number } of PAGE.markers) {
      if (!owned.has(number)) offer(number, nearestPair(list, [number], owned));
    }
    for (const marker of list === color.apart ? color.near : []) {
      offer(marker, answer(color, new Set([...owned, marker])));
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
const BITS = [0, 1, 2, 3, 4, 5];
function pack(owned, size) {
  const six = (n) => BITS.reduce((bits, bit) => bits | owned.has(6 * n + bit) << bit, 0);
  return Array.from({ length: Math.ceil(size / 6) }, (_, n) => LETTERS[six(n)]).join("");
}
function unpack(text, size) {
  const bits = [...text].map((letter) => Math.max(0, LETTERS.indexOf(letter)));
  const all = bits.flatMap((six, n) => BITS.filter((bit) => six & 1 << bit).map((b) => 6 * n + b));
  return new Set(all.filter((marker) => marker < size));
}

/** Read numbers written in letters, the low digits of all of them first. */
function numbers([low, high]) {
  return Float64Array.from(low, (_, n) => low.charCodeAt(n) + 90 * high.charCodeAt(n) - 91 * 35);
}

/** Make the data as the page was given them easy to read: objects, ways sorted by cost. */
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
  const pairs = openedPairs(data.pairs, markers);
  const list = (one) => one && { ...one, ways: one.ways.map(way), pairs: pairs(one.pairs) };
  const colors = data.colors.map((color) => (
    { ...color, listed: list(color.listed), apart: list(color.apart) }));
  return { ...data, markers, colors };
}

/** Return what opens the pairs of a list: what each costs, and each as a way when asked for. */
function openedPairs({ counts, laid, ways, values, fills, words }, markers) {
  const [many, how, value, ...shades] = [counts, ways, values, ...fills].map(numbers);
  let past = 0;
  const begins = many.map((count) => (past += count) - count);
  return (written) => {
    const [which, cost, sure] = [written.which, written.costs, written.sure].map(numbers);
    let next = 0;
    const places = which.map((recipe) => (recipe ? next++ : -1));
    const costs = places.map((place) => (place < 0 ? Infinity : cost[place] / 50));
    const known = new Map();
    const way = (...needs) => {
      const pair = pairAt(...needs);
      const recipe = begins[pair] + which[pair] - 1;
      const named = (said) => said.replace(/\{(\d)\}/g, (_, n) => markers[needs[n]].name);
      const step = ([whose, said]) => ({ needs: whose.map((n) => needs[n]), words: named(said) });
      const hex = (shade) => (4 * shade[recipe] + 258).toString(16).slice(1);
      if (!known.has(pair)) known.set(pair, { needs, steps: laid[how[recipe]].map(step),
        cost: costs[pair], fill: `#${shades.map(hex).join("")}`, value: value[recipe] / 10,
        off: "", sure: words[sure[places[pair]]] });
      return known.get(pair);
    };
    return { costs, way };
  };
}

/** Make an element with text and children; nothing is ever parsed as markup. */
function made(tag, attributes = {}, ...children) {
  const element = typeof tag === "string" ? document.createElement(tag) : tag;
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children.filter((child) => child !== null));
  return element;
}

/** Draw shapes of [x, y, width, height, fill] in a picture of this size. */
function drawn(width, height, shapes) {
  const svg = (tag, attributes, ...children) =>
    made(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, ...children);
  const boxes = shapes.map((shape) => svg("rect", Object.fromEntries(
    ["x", "y", "width", "height", "fill"].map((name, n) => [name, shape[n]]))));
  const viewBox = `0 0 ${width} ${height}`;
  return svg("svg", { width, height, viewBox, "aria-hidden": "true" }, ...boxes);
}

/** Draw a marker's own color. */
const patch = (fill) => drawn(22, 22, [[0, 0, 22, 22, PAGE.paper], [2, 2, 18, 18, fill]]);

/** Draw wanted and given on the paper's color, edge to edge, their values in gray below. */
function pair(color, way) {
  const fills = [color.fill, way.fill];
  const grays = [gray(color.value), gray(way.value)];
  return drawn(132, 80, [[0, 0, 132, 80, PAGE.paper],
    ...fills.map((fill, place) => [8 + 58 * place, 8, 58, 42, fill]),
    ...grays.map((fill, place) => [8 + 58 * place, 52, 58, 20, fill])]);
}

/** Return how a patch of this value looks in gray. */
const gray = (value) => PAGE.grays[Math.max(0, Math.min(100, Math.round(value * 10)))];
const by = (id) => document.getElementById(id);

/** Say of an answer beyond what is listed that it isn't near, and what else is the nearest. */
function furtherOf(color, way, owned) {
  const list = listFor(color, owned);
  if (isListed(list, way) || !owned.size) return { told: "", others: [] };
  const has = (most) => ({ needs }) => needs.length <= most && needs.every((n) => owned.has(n));
  const two = [nearestPair(list, owned, owned), list.ways.find(has(2)), list.ways.find(has(1))];
  const pair = two[0] && two[0].cost < two[1].cost ? two[0] : two[1];
  const others = [["Nearest of two: ", pair], ["Nearest alone: ", two[2]]];
  return { told: `What is ticked can’t come near this. ${owned.size > 1 ? PAGE.further : ""}`,
    others: others.filter(([, one], n) => one !== way && one.needs.length === 2 - n) };
}

/** Return a step in words behind the colors of its markers. */
const said = ({ needs, words }) => [...needs.map((n) => patch(PAGE.markers[n].fill)), ` ${words} `];

/** Draw one color: wanted beside given, what to do, what stays off, and how sure that is. */
function shownColor(color, way, { told, others }) {
  const values = `Value ${color.value.toFixed(1)} wanted, ${way.value.toFixed(1)} given.`;
  return made("article", { "data-color": color.name, "data-cost": way.cost },
    made("figure", {}, pair(color, way), made("figcaption", {}, "wanted, given")),
    made("div", {},
      made("h3", {}, color.name, color.role ? made("small", {}, ` ${color.role}`) : null),
      color.note ? made("p", { class: "note" }, color.note) : null,
      made("ol", {}, ...way.steps.map((step) => made("li", {}, ...said(step)))),
      made("p", {}, made("span", { class: "sure" }, `${values} `), `${way.off} `,
        made("span", { class: "sure" }, `${way.sure} ${told}`)),
      ...others.map(([words, { steps }]) =>
        made("p", { class: "sure" }, words, ...steps.flatMap(said)))));
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
    const further = furtherOf(color, way, owned);
    const key = [further.told, ...further.others.map(([, { needs, cost }]) => [cost, needs])].join();
    if (shown.way === way && shown.key === key) continue;
    const article = shownColor(color, way, further);
    shown.article.replaceWith(article);
    SHOWN.set(color, { article, way, key });
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
  const left = ({ now, way }) => way.cost - now.cost;
  const names = colors.sort((a, b) => left(a) - left(b)).map(({ color }) => color.name);
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
  for (const box of by("own").querySelectorAll("input")) box.checked = owned.has(Number(box.value));
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
  try {
    const told = /own=([\w-]*)/.exec(location.hash);
    return unpack(told ? told[1] : localStorage.getItem(PAGE.key) || "", PAGE.markers.length);
  } catch {
    return new Set();
  }
}

function tick(markers, on) {
  for (const marker of markers) owned[on ? "add" : "delete"](marker);
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

const shownMarkers = () => [...by("own").querySelectorAll("label:not([hidden]) input")]
  .map(({ value }) => Number(value));

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
  window.addEventListener("hashchange", () => { owned = remembered(); refresh(); });
  refresh();
  document.body.classList.add("ready");
}

start().catch(() => by("colors").replaceChildren(
  "This browser is too old to unpack this page. One from 2023 or later can."));
