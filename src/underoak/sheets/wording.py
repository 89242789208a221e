"""Every safety sentence, once. Screen, sheet, label and PDF print these and no others."""

from __future__ import annotations

#: Shown wherever the kitchen, a jar or a meal is spoken of.
KITCHEN_CAUTIONS: tuple[str, ...] = (
    "Never can wild mushrooms: no tested process exists. Freeze, dry, or pickle for the refrigerator.",
    "Never keep mushrooms in oil or vinegar at room temperature. In oil: refrigerated, at most 4 days.",
    "Drying, freezing, pickling and cooking do not make a poisonous mushroom harmless.",
    "Only firm, fresh, clean bodies go in; one that is soft, slimy, wormy or smells off goes out.",
    "Times and keeping days for wild kinds are taken over from cultivated mushrooms; "
    "nobody has tested them for wild ones.",
)

#: Shown wherever something gathered might be eaten.
EATING_CAUTIONS: tuple[str, ...] = (
    "A verdict here is no permission to eat: a person who knows the kind has to look at every body.",
    "Never raw. Cook every kind through.",
    "First time: one new kind only, a small cooked portion, then wait 24 hours before any more.",
    "No first taste for children, for anyone pregnant or ill in liver or kidneys, or for guests.",
    "Keep one uncooked body of each kind in paper in the refrigerator, with its label.",
)

#: Where a pickle's acid is spoken of.
ACID_CAUTION = (
    "The calculated pH is an estimate: measure a blended jar with a calibrated meter. "
    "Above pH 4.2, do not keep it."
)


def alcohol_caution(days: float) -> str:
    """Where a first taste or a taxon named so in the book is spoken of; the days come from the book."""
    return f"No alcohol for {days:g} {'day' if days == 1 else 'days'} before and after eating this."


#: Asked of every eater of a kind that acts with alcohol.
ASK_ABOUT_ALCOHOL = (
    "Ask {person}: any alcohol in the last {days:g} days? And none for the next {days:g}. "
    "If some was drunk and anything is felt, call at once."
)

#: Where a part of the haul has no verdict that lets it through.
SET_ASIDE = "What has no standing verdict of 'consistent' or 'confirmed' is set aside: it is not food."

#: In the place of a verdict, on what was bought.
BOUGHT = "bought, named by the seller; nobody here has vetted it"

#: On what was bought, wherever it is put up or eaten.
BOUGHT_CAUTION = "Bought: the seller named it and nobody here has vetted it. Keep the package with its date."

#: On everything a household made against the advice.
AGAINST_ADVICE = "Made against the advice given here. Do not eat it. It is kept on record only to be traced."

#: Published processes that were tested for cultivated mushrooms.
CULTIVATED_ONLY = (
    "For cultivated mushrooms only. This process was never tested for wild kinds; never use it for them."
)

#: First sentence of the incident sheet.
CALL_NOW = "Call {poison_help} now, before reading on: this page is no diagnosis."

#: Always on the incident sheet, whatever was eaten and written down.
INCIDENT_CAUTIONS: tuple[str, ...] = (
    "Do not wait for more symptoms. "
    "If someone collapses, has a fit or cannot breathe, call the emergency number.",
    "Early symptoms never rule out the amatoxins: several kinds may have been eaten in one meal.",
    "Feeling better after the first day does not end the danger: liver failure can follow on day 2 or 3.",
    "An empty record reassures nobody: what was eaten may not have been written down.",
    "Keep every piece, leftover and vomit: unwashed, in paper, not in plastic, cold. "
    "Photograph it with a scale.",
)

#: Added when gut symptoms began 6 to 24 hours after a meal, or when the times are not known.
AMATOXIN_WARNING = (
    "Gut symptoms that begin 6 to 24 hours after a meal must be treated as amatoxin poisoning "
    "until a hospital has excluded it. Go now."
)

#: On every plan of a walk, on screen and on paper.
WALK_CAUTIONS: tuple[str, ...] = (
    "Tell somebody who stays at home where you walk and when you will be back; leave them this page.",
    "Behind the turn list at the turn-back time? Straight to the car: under trees it is dark before sunset.",
    "Hunting season: ask before you go, wear bright colours, keep to the trails; leave if you hear shots.",
    "Ticks: cover legs and arms, look all over yourself and the children the same evening.",
    "Look at the weather report before you leave; in wind or thunder stay out of the woods.",
    "Expect no signal on the telephone. Carry this page, water, a light, a whistle and a spare battery.",
    "Paths on a map may be gone, flooded or closed. What stands in the woods counts, not this plan.",
    "Expected weights are averages over many days; most single walks bring less.",
)

#: Beside every list of turns.
BEARINGS = (
    "Bearings count from true north, as the map does; a compass needle points some degrees beside it, "
    "in places more than ten."
)

#: Where nobody is known to allow gathering, with the reason of it and whom to ask.
SCOUTING_ONLY = "Look only: gather nothing here. {reason}{ask}."

#: On every notice that calls jars back.
RECALL_CAUTIONS: tuple[str, ...] = (
    "Eat none of it and give none of it away until somebody who knows has cleared up what it is.",
    "Do not throw it away: put it aside, marked, cold, in case a hospital or poison centre asks for it.",
    "If anybody has eaten of it, call {poison_help} now, also without any symptom.",
)

#: Under every single figure of heat and height.
FIGURE_ONLY = (
    "This figure explains. It never takes the place of a tested process and makes no wild kind fit to can."
)

#: On everything that names a mushroom.
NEVER_EATEN = "Nothing here says that it may be eaten. When unsure, leave it in the woods."

#: At the head of the page that is carried into the woods.
PACK_CAUTIONS: tuple[str, ...] = (
    "This page compares what you note with a book. It cannot see, smell or touch. It may be wrong.",
    "Bags stay apart: one kind from one spot in each, with its number, so that one mistake spoils one bag.",
    "Leave every button, every old one and every one that nobody here knows by heart.",
    "This page tells where your spots are: do not pass it on.",
)

#: Beside the alarm of that page.
ALARM_CAUTION = (
    "This alarm rings only while the page is open and the screen is on. "
    "Set the telephone's own alarm to {time} as well."
)

#: Where a position of a telephone is shown.
POSITION_CAUTION = (
    "A telephone under trees is often 10 to 50 m wrong. Believe trail marks and the compass before the dot."
)

#: On the briefing that beginners and children take along.
BRIEFING_CAUTIONS: tuple[str, ...] = (
    "Look, call, wait: nobody picks before one who knows the kind has come and looked.",
    "Never taste anything in the woods, not even a little and not even to spit it out.",
    "Stay where you can hear the others. Lost? Hug a tree, blow three times, wait, blow again.",
    "Wash hands before eating; touching a mushroom, also a poisonous one, does no harm.",
)

#: Printed where an entry has no listed double.
NO_DOUBLES = (
    "None is listed, and no kind of the book that is deadly or harms organs shows the same form and "
    "underside. All the same every dangerous kind must be ruled out before a find is called by a name, the "
    "deadly ones by at least two independent characters; and kinds that are not in the book exist."
)
