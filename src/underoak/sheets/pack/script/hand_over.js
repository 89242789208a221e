// The log leaves the telephone as one file, or as text where a file is refused.

const logDocument = (pack, keeper) => ({
  format: "underoak pack log 1",
  pack: { id: pack.id, place_id: pack.place_id, day: pack.day, book_version: pack.book_version },
  device: keeper.device,
  entries: keeper.entries,
});

const handOverPart = ({ pack, keeper, note, again }) => {
  const text = el("textarea", { readonly: true, spellcheck: "false" });
  const status = el("p", { role: "status" });
  const fileName = `underoak-pack-${pack.day}-${keeper.device}.json`;
  const current = () => JSON.stringify(logDocument(pack, keeper), null, 1);

  const save = () => {
    try {
      const address = URL.createObjectURL(new Blob([current()], { type: "application/json" }));
      const link = el("a", { href: address, download: fileName });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(address), 60000);
      status.textContent = `Saved as ${fileName}, if this telephone allows it. Look whether it is there; else copy the text below.`;
    } catch (fault) { status.textContent = "This telephone does not save files from a page. Copy the text below into a message or a note."; }
  };
  const copy = async () => {
    text.select();
    try {
      await navigator.clipboard.writeText(text.value);
      status.textContent = "Copied. Paste it into a message or a file.";
    } catch (fault) {
      status.textContent = document.execCommand("copy") ? "Copied. Paste it into a message or a file." : "Not copied: press long on the text and choose copy.";
    }
  };

  const show = () => {
    text.value = current();
    const walk = walkOf(keeper.entries);
    const holder = choice([["", "not said"], ...pack.party.map((n) => [n, n])], walk?.holder ?? "");
    const minutes = el("input", { type: "number", min: "1", max: "1440", inputmode: "numeric", value: walk?.minutes ?? "" });
    const tell = async () => {
      const many = Number(minutes.value);
      if (!holder.value) return;
      await note({ kind: "walk", holder: holder.value, people: pack.party, minutes: many >= 1 && many <= 1440 ? many : null });
    };
    holder.addEventListener("change", tell);
    minutes.addEventListener("change", tell);
    fill(byId("save"),
      field("Who holds this telephone?", holder),
      field("How many minutes were you out?", minutes, "Hours that found nothing count as well."),
      el("p", { class: keeper.lost ? "lost" : "" }, keeper.lost ? `${keeper.lost} of ${keeper.entries.length} entries are NOT KEPT.` : keeper.entries.length ? `Everything noted (${keeper.entries.length}) is kept on this telephone.` : "Nothing is noted yet."),
      keeper.lost ? button("Try again", async () => { await again(); show(); }, { class: "main whole" }) : null,
      button("Save the log as a file", save, { class: "main whole" }), status,
      el("details", {}, el("summary", {}, "Or copy it as text"), field("The whole log", text), button("Copy the text", copy, { class: "whole" })),
      el("p", { class: "small" }, `At home: underoak load pack ${fileName}. Loading it twice changes nothing; logs of several telephones are compared.`));
  };
  show();
  return { show };
};
