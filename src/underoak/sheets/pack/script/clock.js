// The time, the turn-back time, and the alarm that rings while the page is open.

const clockPart = (pack) => {
  const turnBack = new Date(pack.turn_back_at), leaves = new Date(pack.leaves_at);
  planAway = awayOf(pack.turn_back_at);
  let sound = null, armed = false, rung = "", wake = null;

  const words = (now) => {
    const minutes = Math.round((turnBack - now) / 60000);
    if (now < leaves - 12 * 3600000 || now > turnBack.getTime() + 12 * 3600000) {
      return `This plan is for ${pack.day}. On this telephone it is ${momentText(now).slice(0, 10)}.`;
    }
    if (minutes > 90) return `in ${Math.floor(minutes / 60)} h ${minutes % 60} min; it is ${clockOf(now)}`;
    if (minutes > 0) return `in ${minutes} min; it is ${clockOf(now)}`;
    return `That was ${-minutes} min ago. Unless you are where the turn list says, go straight to the car now: ` +
      "see Late, tired, below the turns.";
  };

  const ring = () => {
    if (navigator.vibrate) navigator.vibrate([600, 200, 600, 200, 600]);
    if (!sound) return;
    for (let i = 0; i < 6; i += 1) {
      const tone = sound.createOscillator(), loud = sound.createGain();
      tone.frequency.value = i % 2 ? 660 : 880;
      loud.gain.value = 0.4;
      tone.connect(loud).connect(sound.destination);
      tone.start(sound.currentTime + i * 0.5);
      tone.stop(sound.currentTime + i * 0.5 + 0.35);
    }
  };

  const tick = () => {
    const now = new Date(), left = turnBack - now;
    byId("clock-words").textContent = words(now);
    const late = left <= 0 && left > -12 * 3600000;
    byId("turn-back").classList.toggle("late", late);
    const due = late ? `late ${Math.floor(-left / 300000)}` : left <= 600000 && left > 0 ? "soon" : "";
    if (armed && due && due !== rung) { rung = due; ring(); }
  };

  const hold = async () => {
    try { wake = await navigator.wakeLock.request("screen"); } catch (fault) { wake = null; }
  };

  const arm = async () => {
    armed = true;
    const Sound = window.AudioContext || window.webkitAudioContext;
    if (Sound && !sound) sound = new Sound();
    await hold();
    document.addEventListener("visibilitychange", () => { if (!document.hidden) hold(); });
    show();
    tick();
  };

  const show = () => fill(byId("alarm"),
    armed
      ? el("p", { class: "box", role: "status" }, `Alarm set: it rings 10 minutes before and at ${clockOf(turnBack)}, then every 5 minutes. ` +
        (wake ? "The screen is asked to stay on." : "This telephone does not let a page keep the screen on."))
      : button(`Set the alarm for ${clockOf(turnBack)}`, arm, { class: "main whole" }),
    armed ? button("Try how it rings", ring, { class: "whole" }) : null);

  show();
  tick();
  setInterval(tick, 1000);
};
