// What a body cannot be: the same rules as underoak/vetting/exclusion.py, on tables made there.
// A find is {target, day_of_year, bodies_in_lot, ground, bodies}, written like an observation document.

const bookOf = (data) => {
  const at = new Map([...data.letters].map((letter, i) => [letter, i]));
  const decode = (rows, palette) => rows.map((row) => [...row].map((letter) => palette[at.get(letter)]));
  const characters = data.characters.map((c, position) => ({
    ...c, position, measure: !c.states.length, index: new Map(c.states.map(([id], i) => [id, i])),
    words: new Map(c.states), absent: c.states.findIndex(([id]) => id === "absent"),
  }));
  let start = 0;
  for (const c of characters) { c.start = start; start += c.states.length; }
  const withStates = characters.filter((c) => !c.measure).length;
  const share = decode(data.share, data.shares);
  const taxa = data.taxa.map((t, row) => ({
    ...t, row, share: share[row],
    silent: [...t.silent].map((d) => d === "1"), applies: [...t.applies].map((d) => d === "1"),
  }));
  const pairs = new Map();
  for (const [target, other, minimum, how] of data.pairs) {
    if (!pairs.has(target)) pairs.set(target, new Map());
    pairs.get(target).set(other, { minimum, how });
  }
  return {
    ...data, characters, taxa, withStates, pairs, rule: decode(data.rule, data.rules),
    character: new Map(characters.map((c) => [c.id, c])), taxon: new Map(taxa.map((t) => [t.id, t])),
  };
};

const notedStates = (o) => (o.look === "absent" ? ["absent"] : o.states || []);

// Arrays over characters: observed (bits of states), told, counts (by hand, on every stem), value.
const seenOn = (book, body) => {
  const many = book.characters.length;
  const seen = { observed: new Array(many).fill(0), told: new Array(many).fill(false),
    counts: new Array(many).fill(false), value: new Array(many).fill(NaN) };
  for (const [name, o] of Object.entries(body.observations)) {
    if (o.look !== "seen" && o.look !== "absent") continue;
    const c = book.character.get(name);
    const stems = o.stems ?? (body.kind === "single" ? 1 : 0);
    seen.told[c.position] = true;
    seen.counts[c.position] = (o.by ?? "hand") === "hand" && (!c.each_stem || stems >= body.stems);
    if (c.measure) seen.value[c.position] = o.value;
    else for (const state of notedStates(o)) seen.observed[c.position] |= 1 << c.index.get(state);
  }
  seen.present = book.characters.map((c, p) => (c.measure ? seen.told[p] : (seen.observed[p] & c.there) !== 0));
  seen.off = book.characters.map((c) =>
    c.needs.some(([parent, wanted]) => seen.told[parent] && !(seen.observed[parent] & wanted)));
  return seen;
};

// All that was noted of one character lies outside what the taxon can show.
const misses = (book, taxon, seen, p) => {
  if (p < book.withStates) return (seen.observed[p] & taxon.stretched[p]) === 0;
  const range = taxon.outside[p - book.withStates];
  return range !== null && (seen.value[p] < range[0] || seen.value[p] > range[1]);
};

// For each taxon: by (positions that exclude it), groups (independent ones), strong (a print, cut or base).
const excluded = (book, seen) => book.taxa.map((taxon) => {
  const by = new Set(), groups = new Set();
  let strong = false;
  for (const c of book.characters) {
    const p = c.position;
    if (!seen.counts[p] || !c.excludes) continue;
    if (taxon.applies[p]) {
      if (taxon.silent[p] || !misses(book, taxon, seen, p)) continue;
      groups.add(c.group);
    } else {
      if (!seen.present[p]) continue;
      groups.add(c.parent);
    }
    by.add(p);
    strong ||= c.strong;
  }
  return { by, groups: groups.size, strong };
});

const isDone = (book, target, row, exclusion) => {
  const [groups, spare, strong] = book.rule[target.row][row];
  if (exclusion.groups < (exclusion.strong ? groups : spare) || (strong && !exclusion.strong)) return false;
  const pair = book.pairs.get(target.row)?.get(row);
  return !pair || pair.minimum.every((either) => either.some((p) => exclusion.by.has(p)));
};

// How what was seen goes with one taxon: mismatch, doubtful, fits, each over characters.
const fitOf = (book, taxon, seen) => {
  const fit = { mismatch: [], doubtful: [], fits: [] };
  for (const c of book.characters) {
    const p = c.position;
    const here = seen.told[p] && c.excludes && !taxon.silent[p];
    const outside = misses(book, taxon, seen, p);
    const plain = c.measure ? !outside : (seen.observed[p] & ~taxon.shown[p]) === 0;
    const odd = !plain || (!c.measure && isRare(book, taxon, seen, c));
    fit.mismatch.push((here && outside) || (seen.told[p] && c.excludes && !taxon.applies[p] && seen.present[p]));
    fit.doubtful.push(here && !outside && odd);
    fit.fits.push(here && plain && seen.counts[p]);
  }
  return fit;
};

const sharesOf = (taxon, c) => taxon.share.slice(c.start, c.start + c.states.length);
const bestShare = (taxon, seen, c) =>
  Math.max(0, ...sharesOf(taxon, c).filter((_, i) => seen.observed[c.position] & (1 << i)));
const isRare = (book, taxon, seen, c) =>
  bestShare(taxon, seen, c) < book.rare * Math.max(...sharesOf(taxon, c));

// 1 nothing odd, towards 0 many odd things at once.
const fitScore = (book, taxon, seen, fit) => {
  const score = new Array(book.groups).fill(1);
  for (const c of book.characters) {
    const p = c.position;
    if (!fit.doubtful[p] && !fit.mismatch[p]) continue;
    const met = c.measure ? 0 : bestShare(taxon, seen, c) / Math.max(...sharesOf(taxon, c));
    score[c.group] = Math.min(score[c.group], Math.max(met, c.error));
  }
  return score.reduce((product, s) => product * s, 1);
};
