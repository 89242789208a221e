// The questions on one body, one at a time: nothing filled in beforehand, every way out always there.

const FIRST_QUESTIONS = ["form", "hymenium", "growth", "substrate"];
const AGE_WORDS = [["button", "closed: a button, knob or egg"], ["young", "just open, everything still firm"],
  ["mature", "fully open and firm"], ["old", "soft, dry, broken, eaten or falling apart"]];
const CONDITION_WORDS = { wormy: "Is it eaten through by larvae?", soaked: "Is it soaked by rain?",
  frozen: "Is it frozen, or was it?", rotten: "Is it soft, slimy, mouldy, or does it smell bad?" };
const GROUND_WORDS = { treated: "Is the ground or the tree treated with sprays, salt or preservative?",
  roadside: "Does it stand beside a busy road, railway or drain?",
  flooded_or_dumped: "Was the ground flooded, or waste tipped there?" };
const YES_NO = [["yes", "yes"], ["no", "no"], ["not_looked", "not looked"]];

// What is asked next, as {body, name}; null when nothing useful is left.
const nextQuestion = (book, answers, find, verdict) => {
  const has = (body, name) => answers.has(`${body}:${name}`);
  for (const name of Object.keys(GROUND_WORDS)) if (!has("", `ground.${name}`)) return { body: "", name: `ground.${name}` };
  for (const body of find.bodies.map((b) => b.id)) {
    if (!has(body, "stems")) return { body, name: "stems" };
    if (!has(body, "age")) return { body, name: "age" };
    for (const name of Object.keys(CONDITION_WORDS)) if (!has(body, `condition.${name}`)) return { body, name: `condition.${name}` };
    for (const name of FIRST_QUESTIONS) if (!has(body, name)) return { body, name };
  }
  for (const one of verdict.cases) {
    const own = verdict.bodies.find((v) => v.body_id === one.body.id);
    if (own.state !== "open") continue;
    const share = sharesOfTaxa(book, [one.body], find.day_of_year)[0];
    const name = nextChecks(book, one, share, book.characters.length).find((n) => !has(one.body.id, n));
    if (name) return { body: one.body.id, name };
  }
  return null;
};

// The form of one question; told(value) is called with what is to be noted.
const questionForm = (book, at, answers, find, told) => {
  const many = find.bodies.length > 1;
  const of = at.body ? (many ? `Body ${at.body}. ` : "") : "The place. ";
  const heading = (words) => el("h3", { tabindex: "-1", id: "question-words" }, `${of}${words}`);
  const plain = (words, options, make) => [heading(words),
    el("div", { role: "group", "aria-labelledby": "question-words" }, options.map(([value, w]) => button(w, () => told(make(value)), { class: "whole" })))];
  if (at.name === "age") return plain("How far has it opened?", [...AGE_WORDS, ["", "not looked"]], (age) => ({ age: age || null }));
  if (at.name.startsWith("condition.")) return plain(CONDITION_WORDS[at.name.slice(10)], YES_NO, (answer) => ({ answer }));
  if (at.name.startsWith("ground.")) return plain(GROUND_WORDS[at.name.slice(7)], YES_NO, (answer) => ({ answer }));
  if (at.name === "stems") return stemsForm(heading, told);
  return characterForm(book, book.character.get(at.name), find.bodies.find((b) => b.id === at.body), heading, told);
};

const stemsForm = (heading, told) => {
  const stems = el("input", { type: "number", min: "2", max: "500", inputmode: "numeric" });
  return [heading("Is it one body, or are several stems joined at the foot?"),
    button("one body", () => told({ stems: 1 }), { class: "whole" }),
    field("Several joined stems: how many?", stems),
    button("Note that many stems", () => {
      const many = Number(stems.value);
      if (Number.isInteger(many) && many >= 2 && many <= 500) told({ stems: many });
      else stems.focus();
    }, { class: "whole" })];
};

const characterForm = (book, c, body, heading, told) => {
  const stems = el("input", { type: "number", min: "1", max: String(body.stems), inputmode: "numeric" });
  const onEach = body.stems > 1 && c.each_stem;
  const fault = el("p", { role: "alert", class: "lost" });
  const send = (observation) => {
    const looked = observation.look === "seen" || observation.look === "absent";
    if (onEach && looked) {
      const many = Number(stems.value);
      if (!(Number.isInteger(many) && many >= 1 && many <= body.stems)) {
        fault.textContent = `First say on how many of the ${body.stems} stems you looked.`;
        stems.focus();
        return;
      }
      observation.stems = many;
    }
    told({ observation });
  };
  const rest = [
    c.absent >= 0 ? button(`looked, absent: ${c.words.get("absent")}`, () => send({ look: "absent" }), { class: "whole" }) : null,
    button("looked, can't tell", () => send({ look: "cant_tell" }), { class: "whole" }),
    button("not looked", () => send({ look: "not_looked" }), { class: "whole" }),
  ];
  const head = [heading(c.question), el("p", {}, c.how),
    onEach ? field(`On how many of the ${body.stems} stems did you look?`, stems) : null];
  return [...head, ...(c.measure ? measureAnswers(c, send, fault) : stateAnswers(c, send)), fault, ...rest];
};

const measureAnswers = (c, send, fault) => {
  const value = el("input", { type: "number", step: "any", inputmode: "decimal" });
  const [low, high] = c.limits;
  return [field(`In ${c.unit}`, value), button("Note this measure", () => {
    const x = Number(value.value);
    if (value.value !== "" && x >= low && x <= high) send({ look: "seen", value: x });
    else fault.textContent = `A number from ${low} to ${high} ${c.unit}.`;
  }, { class: "whole main" })];
};

// One tap notes one state; whoever cannot choose ticks several.
const stateAnswers = (c, send) => {
  const states = c.states.filter(([id]) => id !== "absent");
  const ticks = states.map(([id, words]) => {
    const box = el("input", { type: "checkbox", value: id });
    return { box, line: el("label", { class: "line" }, box, words) };
  });
  const several = () => {
    const chosen = ticks.filter((t) => t.box.checked).map((t) => t.box.value);
    if (chosen.length) send({ look: "seen", states: chosen });
  };
  return [
    el("div", { role: "group", "aria-labelledby": "question-words" }, states.map(([id, words]) => {
      const node = button(words, () => send({ look: "seen", states: [id] }), { class: "whole" });
      const drawing = drawingOf(c.drawings[id]);
      if (drawing) node.prepend(drawing);
      return node;
    })),
    el("details", {}, el("summary", {}, "One of several, I cannot choose"), ticks.map((t) => t.line), button("Note these", several, { class: "whole" })),
  ];
};
