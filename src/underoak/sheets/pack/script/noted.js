// From the log of entries to what holds now: the last entry about each thing counts.

const aboutOf = (e) => ({
  find: () => `find:${e.bag}`, search: () => `search:${e.spot_id}`, spot: () => `spot:${e.spot_id}`,
  answer: () => `answer:${e.bag}:${e.body}:${e.name}`, walk: () => "walk",
}[e.kind]());

const currentOf = (entries) => {
  const current = new Map();
  for (const entry of entries) current.set(aboutOf(entry), entry);
  return current;
};

const findsOf = (entries) => [...currentOf(entries).values()].filter((e) => e.kind === "find" && !e.gone);
const walkOf = (entries) => currentOf(entries).get("walk") ?? null;

const answersOf = (entries, bag) => {
  const answers = new Map();
  for (const e of currentOf(entries).values()) {
    if (e.kind === "answer" && e.bag === bag) answers.set(`${e.body}:${e.name}`, e.value);
  }
  return answers;
};

const bodyNames = (answers) => {
  const names = new Set(["1"]);
  for (const key of answers.keys()) {
    const body = key.split(":")[0];
    if (body) names.add(body);
  }
  return [...names].filter((n) => answers.get(`${n}:stems`)?.stems !== 0).sort((a, b) => Number(a) - Number(b));
};

// The observation document of one bag, as the server reads it.
const documentOf = (entries, bag, day) => {
  const find = findsOf(entries).find((e) => e.bag === bag);
  const answers = answersOf(entries, bag);
  const bodies = bodyNames(answers).map((id) => {
    const stems = answers.get(`${id}:stems`)?.stems ?? 1;
    const body = { id, kind: stems > 1 ? "cluster" : "single", stems, age: answers.get(`${id}:age`)?.age ?? null,
      condition: {}, observations: {} };
    for (const [key, value] of answers) {
      const [of, name] = key.split(":");
      if (of !== id) continue;
      if (name.startsWith("condition.")) body.condition[name.slice(10)] = value.answer;
      else if (value.observation) body.observations[name] = value.observation;
    }
    return body;
  });
  const ground = {};
  for (const [key, value] of answers) if (key.startsWith(":ground.")) ground[key.slice(8)] = value.answer;
  const described = bodies.reduce((sum, b) => sum + b.stems, 0);
  return { format: "underoak observations 1", target: find?.taxon_id || null, day_of_year: day,
    bodies_in_lot: Math.max(find?.bodies ?? 1, described), ground, bodies };
};

const dayOfYear = (text) => {
  const [y, m, d] = text.split("-").map(Number);
  return Math.round((Date.UTC(y, m - 1, d) - Date.UTC(y, 0, 1)) / 86400000) + 1;
};
