// The verdict on a find with every reason: the same as underoak/vetting/verdict.py and reasons.py.

const STATES = ["refused", "open", "consistent", "confirmed"];
const worst = (states) => STATES[Math.min(2, ...states.map((s) => STATES.indexOf(s)))];
const called = (t) => (t.common ? `${t.common} (${t.name})` : t.name);
const byText = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
const reason = (kind, state, words, characters = [], taxon = null, home = null, weight = 0) =>
  ({ kind, state, words, characters, taxon_id: taxon, at_home: home, weight });
const named = (id) => (/^\d+$/.test(id) ? `Body ${id}` : id);
const sortedReasons = (reasons) => {
  const seen = new Map(reasons.map((r) => [JSON.stringify(r), r]));
  return [...seen.values()].sort((a, b) => STATES.indexOf(a.state) - STATES.indexOf(b.state) ||
    b.weight - a.weight || byText(a.kind, b.kind) || byText(a.words, b.words) || byText(a.characters.join(), b.characters.join()));
};

const numberWords = (x) => String(Number(x.toPrecision(6)));
const said = (book, name, o) => {
  const c = book.character.get(name);
  if (o.value !== undefined && o.value !== null) return `${c.question} ${numberWords(o.value)} ${c.unit}.`;
  return `${c.question} ${notedStates(o).map((s) => c.words.get(s)).join(" or ")}.`;
};

const holds = (body, when) => when.every(([name, states]) => {
  const o = body.observations[name];
  return o && (o.look === "seen" || o.look === "absent") && notedStates(o).every((s) => states.includes(s));
});

const policyReasons = (book, target, body) => {
  const found = [];
  if (target.never) found.push(reason("never_gather", "refused", target.never, [], target.id));
  else if (!target.gathered) found.push(reason("not_a_target", "refused",
    `${called(target)} is not among the kinds this book lets anyone gather.`, [], target.id));
  for (const rule of book.never) {
    if (holds(body, rule.when)) found.push(reason("never_gather", "refused", rule.words,
      rule.when.map(([name]) => name).sort(byText), target.id));
  }
  return found;
};

const contradictions = (book, body) => {
  const found = [];
  for (const clash of book.clashes) {
    if (!holds(body, clash.first) || !holds(body, clash.second)) continue;
    const names = [...new Set([...clash.first, ...clash.second].map(([name]) => name))].sort(byText);
    const shown = names.map((name) => said(book, name, body.observations[name])).join("; ");
    found.push(reason("contradiction", "open", `${clash.words} Noted: ${shown} Look again at both.`,
      names, null, true));
  }
  for (const [name, o] of Object.entries(body.observations)) {
    if (o.look !== "seen") continue;
    for (const [parent, wanted] of book.character.get(name).needs) {
      const p = book.characters[parent], other = body.observations[p.id];
      if (!other || other.look !== "seen" || other.states.some((s) => wanted & (1 << p.index.get(s)))) continue;
      const shown = `${said(book, name, o)} ${said(book, p.id, other)}`;
      found.push(reason("contradiction", "open",
        `These two do not go together. Noted: ${shown} Look again at both.`, [name, p.id].sort(byText), null, true));
    }
  }
  return found;
};

const mismatches = (book, target, body, fit) => {
  const odd = book.characters.filter((c) => fit.mismatch[c.position]);
  const many = new Set(odd.map((c) => c.group)).size > 1;
  return odd.map((c) => {
    const hard = c.hard || target.required.includes(c.position) || many;
    const again = hard ? "" : " Look again in daylight.";
    return reason("mismatch", hard ? "refused" : "open",
      `${called(target)} never shows this: ${said(book, c.id, body.observations[c.id])}${again}`,
      [c.id], target.id, hard ? null : c.at_home);
  });
};

const requiredReasons = (book, target, body, seen, fit) => {
  const found = [];
  for (const p of target.required) {
    const c = book.characters[p], o = body.observations[c.id];
    if (fit.fits[p] || fit.mismatch[p] || (seen.off[p] && !seen.told[p])) continue;
    let words;
    if (!seen.told[p]) {
      const why = o && o.look === "cant_tell" ? "could not be told" : "was not looked at";
      words = `${c.question} This ${why}. ${c.how}`;
    } else if (!seen.counts[p]) {
      words = `${c.question} Look in hand, at each of the ${body.stems} stems.`;
    } else {
      words = `May be a faded or neighbouring state and says nothing for the name: ${said(book, c.id, o)}`;
    }
    found.push(reason(seen.counts[p] ? "unclear" : "missing", "open", words, [c.id], target.id, c.at_home));
  }
  return found;
};

const openDangers = (book, target, done) => book.taxa.filter((t) => done[t.row] === false).map((t) => {
  const pair = book.pairs.get(target.row)?.get(t.row);
  const names = pair ? [...new Set(pair.minimum.flat().map((p) => book.characters[p].id))].sort(byText) : [];
  const advice = pair ? ` ${pair.how}` : "";
  return reason("danger", "open", `Not ruled out: ${called(t)}, ${t.harm}.${advice}`, names, t.id,
    null, book.danger_weight[t.danger]);
});

const askedReasons = (kind, questions, answers, target, ask) => {
  const names = Object.keys(questions);
  const found = names.filter((n) => answers[n] === "yes")
    .map((n) => reason(kind, "refused", questions[n], [n], target.id));
  const unasked = names.filter((n) => (answers[n] ?? "not_looked") === "not_looked");
  if (unasked.length) found.push(reason(kind, "open", ask(unasked), unasked, target.id, true));
  return found;
};

const conditionReasons = (book, target, body) => {
  const found = askedReasons("condition", book.body_questions, body.condition || {}, target,
    (names) => `Nobody looked whether it is ${names.join(", ")}.`);
  if (!body.age) found.push(reason("age", "open", "How far it has opened was not noted.", ["age"], target.id, true));
  else if (body.age === "button") found.push(reason("age", "open",
    "It is a button: ring, sac and the colour of gills are not formed yet. Buttons are never named.",
    ["age"], target.id, false));
  else if (body.age === "old") found.push(reason("age", "refused", "It is old: leave it.", ["age"], target.id));
  const host = body.observations.host;
  if (target.host && (!host || host.look === "not_looked" || host.look === "cant_tell")) {
    found.push(reason("condition", "open",
      "The tree it grows on has no name yet; an unknown host keeps it open.", ["host"], target.id, false));
  }
  return found;
};

// One body under one name. done[row]: true ruled out, false not, undefined no danger.
const caseOf = (book, target, body) => {
  const seen = seenOn(book, body), exclusions = excluded(book, seen);
  const done = book.taxa.map((t) =>
    (book.rule[target.row][t.row][0] > 0 ? isDone(book, target, t.row, exclusions[t.row]) : undefined));
  return { target, body, seen, exclusions, done, fit: fitOf(book, target, seen) };
};

const bodyVerdict = (book, one) => {
  const { target, body, seen, fit, done } = one;
  const found = [
    ...policyReasons(book, target, body), ...contradictions(book, body), ...mismatches(book, target, body, fit),
    ...requiredReasons(book, target, body, seen, fit), ...openDangers(book, target, done),
    ...conditionReasons(book, target, body),
  ];
  if (fitScore(book, target, seen, fit) < book.least_fit) found.push(reason("fit", "open",
    `Too much of it is unusual for ${called(target)}: it may be none of these.`, [], target.id));
  return { body_id: body.id, state: worst(found.map((r) => r.state)), reasons: sortedReasons(found) };
};

const lotReasons = (book, target, find) => {
  const found = askedReasons("ground", book.ground_questions, find.ground || {}, target,
    (names) => `Nobody said whether the place is ${names.join(", ").replaceAll("_", " ")}.`);
  const missing = find.bodies_in_lot - find.bodies.reduce((sum, b) => sum + b.stems, 0);
  if (missing > 0) found.push(reason("count", "open",
    `${missing} of ${find.bodies_in_lot} bodies were not looked at; each one must be.`, [], target.id, true));
  return found;
};

// Without a name in mind, and what goes best is not gathered: refused, or nothing is known.
const nameless = (book, best, candidates) => {
  const one = best
    ? reason("not_a_target", "refused", `It goes best with ${called(best)}, which this book lets nobody gather: leave it.`, [], best.id)
    : reason("fit", "open", "It goes with nothing in the book: leave it, or ask a person who knows.");
  return { state: one.state, target: null, name: "", words: book.state_words[one.state], reasons: [one], bodies: [],
    cases: [], candidates, next: [], cautions: [], reviewed: "" };
};

const evaluate = (book, find) => {
  const bodies = [...find.bodies].sort((a, b) => byText(a.id, b.id));
  const share = sharesOfTaxa(book, bodies, find.day_of_year ?? null);
  const best = likeliest(book, share);
  const target = find.target ? book.taxon.get(find.target) : best?.gathered ? best : null;
  const candidates = candidatesOf(book, share);
  if (!target) return nameless(book, best, candidates);
  const cases = bodies.map((body) => caseOf(book, target, body));
  const verdicts = cases.map((one) => bodyVerdict(book, one));
  const from = verdicts.flatMap((v) => v.reasons.map((r) =>
    (verdicts.length > 1 ? { ...r, words: `${named(v.body_id)}: ${r.words}` } : r)));
  const reasons = sortedReasons([...lotReasons(book, target, find), ...from]);
  const state = worst(reasons.map((r) => r.state));
  const first = verdicts.findIndex((v) => v.state === "open");
  return { state, target: target.id, name: target.name, words: book.state_words[state], reasons, bodies: verdicts,
    cases, candidates, cautions: target.cautions || [], reviewed: target.reviewed || "",
    next: state === "open" && first >= 0 ? nextChecks(book, cases[first], share[first]) : [] };
};
