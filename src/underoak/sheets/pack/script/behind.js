// Late or tired: what to leave out, from the table that was worked out before leaving.

const bestChoice = (choices, minutes) => choices.find((c) => c.minutes <= minutes) ?? null;

const behindPart = (pack) => {
  const box = byId("behind"), answer = el("div", { role: "status" });
  if (!pack.ways.length) { fill(box, el("p", {}, "There is no way to cut: this walk has no turns.")); return; }
  const turn = choice(pack.turns.map((t) => [String(t.number), `${t.number}, planned ${t.at}`]), String(pack.turns[0].number));

  const look = () => {
    const left = Math.floor((new Date(pack.back_by) - new Date()) / 60000);
    const way = pack.ways.find((w) => String(w.turn) === turn.value);
    const best = bestChoice(way.choices, left) ?? way.choices[way.choices.length - 1];
    const fits = best.minutes <= left;
    const weight = (c) => (pack.gathering ? `, about ${grams(1000 * c.kg)} still expected` : "");
    const line = (c) => el("li", {}, `${c.words} ${Math.round(c.minutes)} min to the car${weight(c)}.`);
    fill(answer,
      el("p", { class: fits ? "box" : "late" }, el("strong", {}, best.words),
        ` ${Math.round(best.minutes)} min to the car; until ${clockOf(new Date(pack.back_by))} there are ${Math.max(0, left)}.`,
        fits ? "" : " You will be late: go now, tell those at home when you have signal, get the light out."),
      el("h4", {}, "Every choice here"), el("ul", { class: "small" }, way.choices.map(line)));
  };

  turn.addEventListener("change", look);
  fill(box, field("Where are you, or which turn comes next?", turn), button("What now?", look, { class: "main whole" }), answer);
};
