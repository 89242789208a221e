// What is likely, and what to look at next: underoak/vetting/likelihood.py and next_check.py. Ranks only.

const logPrior = (book, day) => {
  const weight = book.taxa.map((t) => {
    if (day === null || !t.season) return 1;
    const apart = Math.abs(day - t.season[0]);
    const away = Math.min(apart, 365 - apart) / t.season[1];
    return Math.max(book.out_of_season, Math.exp(-0.5 * Math.max(0, away - 1) ** 2));
  });
  const share = weight.map((w) => (w / weight.length) * (1 - book.other_prior));
  return [...share, 1 - share.reduce((a, b) => a + b, 0)].map(Math.log);
};

const clip = (x) => Math.min(1, Math.max(0, x));
const logDensity = (value, spread, error) => {
  const [least, low, high, most] = (spread ?? [1, 1, 1, 1]).map(Math.log);
  const x = Math.log(value), gap = 1e-9;
  const height = Math.min(clip((x - least + gap) / (low - least + gap)), clip((most - x + gap) / (most - high + gap)));
  const area = (high - low) + 0.5 * ((low - least) + (most - high)) + 1e-6;
  return Math.log((1 - error) * (height * Math.log(100) / Math.max(area, 0.1)) + error);
};

const logRatio = (book, taxon, seen, c) => {
  const p = c.position;
  if (!taxon.applies[p]) return Math.log(c.error);
  if (taxon.silent[p]) return 0;
  if (c.measure) return logDensity(seen.value[p], taxon.spread[p - book.withStates], c.error);
  const width = c.states.length;
  let chance = 0, many = 0;
  sharesOf(taxon, c).forEach((share, i) => {
    if (!(seen.observed[p] & (1 << i))) return;
    chance += (1 - c.error) * share + c.error / width;
    many += 1;
  });
  return Math.log(Math.max(chance, 1e-9) * (width / Math.max(many, 1)));
};

// For each body the share of each taxon and, last, of "none of these".
const sharesOfTaxa = (book, bodies, day) => {
  const prior = logPrior(book, day);
  return bodies.map((body) => {
    const seen = seenOn(book, body);
    const told = book.characters.filter((c) => seen.told[c.position]);
    const counts = new Array(book.groups).fill(0);
    for (const c of told) counts[c.group] += 1;
    const joint = book.taxa.map((taxon, t) =>
      prior[t] + told.reduce((sum, c) => sum + logRatio(book, taxon, seen, c) / counts[c.group], 0));
    joint.push(prior[prior.length - 1]);
    const top = Math.max(...joint);
    const raw = joint.map((j) => Math.exp(j - top));
    const all = raw.reduce((a, b) => a + b, 0);
    return raw.map((r) => r / all);
  });
};

// The taxon that goes best with all bodies together; null when that is "none of these".
const likeliest = (book, share) => {
  const together = share[0].map((_, i) => share.reduce((sum, row) => sum + Math.log(Math.max(row[i], 1e-300)), 0));
  return book.taxa[together.indexOf(Math.max(...together))] ?? null;
};

const candidatesOf = (book, share) => {
  const rounded = (x) => Math.round(x * 1e9) / 1e9;
  const highest = share[0].map((_, i) => Math.max(...share.map((row) => row[i])));
  return highest.map((value, i) => ({ row: i, share: rounded(value) }))
    .sort((a, b) => b.share - a.share || a.row - b.row).slice(0, 8)
    .map(({ row, share: value }) => ({ taxon_id: book.taxa[row]?.id ?? null,
      name: book.taxa[row]?.name ?? "none of these", share: value }));
};

// Chance that looking at this excludes the taxon when the target is right.
const exclusionChance = (book, target, taxon, c) => {
  const p = c.position;
  if (!taxon.applies[p]) return 1;
  if (taxon.silent[p]) return 0;
  if (!c.measure) {
    return sharesOf(target, c).reduce((sum, s, i) => (taxon.stretched[p] & (1 << i) ? sum : sum + s), 0);
  }
  const m = p - book.withStates, mine = target.spread[m], other = taxon.spread[m];
  if (!mine || !other) return 0;
  const width = Math.max(mine[2] - mine[1], 1e-9);
  const within = (x) => Math.min(width, Math.max(0, x));
  return Math.min((within(other[0] - mine[1]) + within(mine[2] - other[3])) / width, 1);
};

// How far a new exclusion by this character brings an open danger forward.
const liftOf = (book, target, one, taxon, c) => {
  const [groups, spare, strong] = book.rule[target.row][taxon.row];
  const exclusion = one.exclusions[taxon.row];
  const group = taxon.applies[c.position] ? c.group : c.parent;
  const fresh = ![...exclusion.by].some((p) => book.characters[p].group === group);
  const lacking = Math.max(groups - exclusion.groups, 0);
  const needsStrong = strong && !exclusion.strong;
  // Enough in number, but without a strong proof one more is asked.
  const needsMore = !exclusion.strong && lacking === 0 && exclusion.groups < spare;
  const steps = lacking + ((needsStrong || needsMore) && lacking === 0 ? 1 : 0);
  const helps = (fresh && lacking > 0) || (needsStrong && c.strong) || (needsMore && (fresh || c.strong));
  let lift = (helps ? 1 : 0) / Math.max(steps, 1);
  const lastWithout = !exclusion.strong && spare > groups && lacking === 1;
  if ((needsStrong || lastWithout) && !c.strong) lift *= 0.5;
  const unmet = (book.pairs.get(target.row)?.get(taxon.row)?.minimum ?? [])
    .filter((either) => !either.some((p) => exclusion.by.has(p)));
  if (unmet.length) lift = unmet.some((either) => either.includes(c.position)) ? 1 : 0.5 * lift;
  return lift;
};

// Expected value of looking, in lost finds; settles ties.
const informationValue = (book, target, p, c) => {
  if (c.measure) return 0;
  const keep = book.taxa.map((t) =>
    (book.rule[target.row][t.row][0] > 0 ? book.danger_weight[t.danger] ?? 0 : 0));
  keep.push(book.unknown_kept);
  const width = c.states.length;
  const table = book.taxa.map((t) => sharesOf(t, c).map((s) => (1 - c.error) * s + c.error / width));
  table.push(new Array(width).fill(1 / width));
  let after = 0;
  for (let i = 0; i < width; i += 1) {
    const kept = p.reduce((sum, share, t) => sum + keep[t] * share * table[t][i], 0);
    after += Math.min(kept, book.lost_find * p[target.row] * table[target.row][i]);
  }
  return Math.min(p.reduce((sum, share, t) => sum + keep[t] * share, 0), book.lost_find * p[target.row]) - after;
};

const nextChecks = (book, one, share, most = 5) => {
  const { target, seen, done } = one;
  const open = book.taxa.filter((t) => done[t.row] === false);
  const missing = new Set(target.required.filter((p) => !seen.told[p] && !seen.off[p]));
  const scored = [];
  for (const c of book.characters) {
    const p = c.position;
    if (seen.told[p] || target.silent[p] || !c.excludes || !target.applies[p]) continue;
    let gain = missing.has(p) ? book.required_weight : 0;
    for (const t of open) {
      gain += book.danger_weight[t.danger] * exclusionChance(book, target, t, c) * liftOf(book, target, one, t, c);
    }
    const worth = Math.round((gain / c.minutes) * 1e9) / 1e9;
    if (worth > 0) scored.push([worth, Math.round(informationValue(book, target, share, c) * 1e9) / 1e9, p]);
  }
  scored.sort((a, b) => b[0] - a[0] || b[1] - a[1] || a[2] - b[2]);
  return scored.slice(0, most).map(([, , p]) => book.characters[p].id);
};

// What still stands open against each dangerous double of one body.
const doublesOf = (book, one) => {
  const weight = (t) => book.danger_weight[t.danger] ?? 0;
  return book.taxa.filter((t) => one.done[t.row] !== undefined)
    .map((t) => ({ taxon_id: t.id, name: called(t), danger: t.danger_words, excluded: one.done[t.row], weight: weight(t) }))
    .sort((a, b) => a.excluded - b.excluded || b.weight - a.weight || byText(a.taxon_id, b.taxon_id));
};
