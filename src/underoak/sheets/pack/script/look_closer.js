// Vetting in the woods: choose a bag, answer, and see what is not ruled out.

const lookCloserPart = ({ pack, book, keeper, note }) => {
  const day = dayOfYear(pack.day);
  let bag = null, asked = null;

  const find = () => documentOf(keeper.entries, bag, day);
  const answer = async (value) => {
    await note({ kind: "answer", bag, body: asked.body, name: asked.name, value });
    asked = null;
    show(true);
  };

  const showBags = () => {
    const finds = findsOf(keeper.entries);
    fill(byId("bags"), finds.length
      ? el("div", { class: "row", role: "group", "aria-label": "Which bag?" }, finds.map((f) => button(`Bag ${f.bag}`, () => open(f.bag),
        { class: f.bag === bag ? "chosen" : "", "aria-pressed": String(f.bag === bag) })))
      : el("p", {}, "Note a find under Write down first; then its bag stands here."));
  };

  const show = (move = false) => {
    showBags();
    if (!bag || !findsOf(keeper.entries).some((f) => f.bag === bag)) {
      bag = null;
      byId("question").hidden = true;
      byId("verdict").hidden = true;
      return;
    }
    const document = find(), answers = answersOf(keeper.entries, bag), verdict = evaluate(book, document);
    asked ??= nextQuestion(book, answers, document, verdict);
    fill(byId("question"), el("div", { class: "box" }, asked ? questionForm(book, asked, answers, document, answer) : nothingLeft(verdict)),
      button("Add another body of this bag", () => addBody(document), { class: "whole" }));
    showVerdict(document, verdict, answers);
    if (move) byId("question").querySelector("h3")?.focus();
  };

  const nothingLeft = (verdict) => [el("h3", { tabindex: "-1" }, "No further question"),
    el("p", {}, verdict.state === "open" ? "What keeps it open stands below. Some of it can only be settled at home or by a person who knows."
      : "Every answer can still be corrected below.")];

  const addBody = async (document) => {
    const next = String(Math.max(...document.bodies.map((b) => Number(b.id))) + 1);
    asked = { body: next, name: "stems" };
    await note({ kind: "answer", bag, body: next, name: "stems", value: { stems: 1 } });
    show(true);
  };

  const open = (name) => { bag = name; asked = null; show(true); };

  const reasonItem = (r) => el("li", {}, r.words, r.at_home === null ? "" : r.at_home ? " (can be settled at home)" : " (only in the woods)");
  const showVerdict = (document, verdict, answers) => {
    const why = (state, head) => {
      const reasons = verdict.reasons.filter((r) => r.state === state && r.kind !== "danger");
      if (!reasons.length) return [];
      const rest = reasons.slice(3);
      return [el("h4", {}, `${head} (${reasons.length})`), el("ul", {}, reasons.slice(0, 3).map(reasonItem)),
        rest.length ? el("details", {}, el("summary", {}, `${rest.length} more`), el("ul", {}, rest.map(reasonItem))) : null];
    };
    const dangers = new Map(verdict.cases.flatMap((one) => doublesOf(book, one)).filter((d) => !d.excluded).map((d) => [d.taxon_id, d]));
    const open = [...dangers.values()];
    const likely = verdict.candidates.filter((c) => c.share >= 0.01).slice(0, 4).map((c) => `${c.name} ${Math.round(100 * c.share)} %`);
    fill(byId("verdict"),
      el("p", { class: `state ${verdict.state}`, role: "status" }, `${verdict.name || "No name"}. ${verdict.words}`),
      el("p", {}, el("strong", {}, book.never_eaten)),
      ...why("refused", "Why it is refused"),
      open.length ? [el("h4", {}, `Not ruled out: ${open.length} dangerous kinds`),
        el("ul", {}, open.slice(0, 8).map((d) => el("li", {}, el("strong", {}, d.danger), ` ${d.name}`))),
        open.length > 8 ? el("p", {}, `and ${open.length - 8} more.`) : null] : [],
      ...why("open", "What keeps it open"),
      likely.length ? el("p", { class: "small" }, `Goes best with (ranks only, decides nothing): ${likely.join(", ")}.`) : null,
      verdict.state === "consistent" ? el("div", { class: "box caution" }, verdict.cautions.map((w) => el("p", {}, w))) : null,
      verdict.reviewed ? el("p", { class: "small" }, verdict.reviewed) : null,
      el("p", { class: "small" }, "The household's computer vets it again from what is noted; only that verdict and a person who knows count."),
      showAnswers(document, answers));
  };

  const answerWords = (name, value) => {
    if (value.observation) {
      const o = value.observation;
      return o.look === "seen" || o.look === "absent" ? said(book, name, o) : `${book.character.get(name).question} ${o.look === "cant_tell" ? "Can't tell" : "Not looked"}.`;
    }
    return `${name.replaceAll("_", " ").replace(".", ": ")}: ${value.answer ?? value.age ?? value.stems ?? "not looked"}`.replaceAll("not_looked", "not looked");
  };
  const showAnswers = (document, answers) => {
    const rows = [...answers].map(([key, value]) => {
      const [body, ...rest] = key.split(":"), name = rest.join(":");
      return el("li", {}, `${document.bodies.length > 1 && body ? `Body ${body}: ` : ""}${answerWords(name, value)} `,
        button("Look again", () => { asked = { body, name }; show(true); }, { "aria-label": `Look again: ${answerWords(name, value)}` }));
    });
    return el("details", {}, el("summary", {}, `What was noted (${rows.length})`), el("ul", { class: "plain log" }, rows));
  };

  show();
  return { show, open };
};
