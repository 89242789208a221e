// What is in the bags of this telephone against the limits.

const tallyOf = (finds) => ({
  grams: finds.reduce((sum, f) => sum + (f.fresh_g ?? 0), 0),
  unweighed: finds.filter((f) => !f.fresh_g && f.stage === "prime").length,
});

const tallyPart = (pack, keeper) => {
  const { grams: total, unweighed } = tallyOf(findsOf(keeper.entries));
  const limits = [
    ["May be taken from here, all of you together", pack.limit_kg],
    ["You can carry, all of you together", pack.carry_kg],
    ["The kitchen can take tonight", pack.kitchen_kg],
  ].filter(([, kg]) => kg !== null);
  const row = ([words, kg]) => {
    const left = 1000 * kg - total;
    return el("tr", {}, el("th", { scope: "row" }, words), el("td", {}, `${kg.toFixed(1)} kg`),
      el("td", { class: left < 0 ? "lost" : "" }, left < 0 ? `${grams(-left)} too much` : `${grams(left)} left`));
  };
  fill(byId("tally"),
    pack.gathering ? null : el("p", { class: "box caution" }, pack.permission_words),
    el("p", { class: "box", role: "status" }, el("strong", {}, `In the bags: ${grams(total)}`),
      unweighed ? ` and ${unweighed} not weighed yet.` : "."),
    limits.length && pack.gathering ? el("details", { open: total > 0 }, el("summary", {}, "Limits of today"),
      el("table", { class: "tally" }, el("tbody", {}, limits.map(row)))) : null,
    el("p", { class: "small" }, "These are the bags noted on this telephone; add those of the others in your head."));
};
