"""The words a fitter uses: places, pieces, ways of changing, complaints, signs, and what may be passed over.

Words that the trade uses for more than one thing carry every meaning, the likelier first; the place decides.
"""

from collections.abc import Mapping

from convert.block.toile.place import WAY_WORDS, Way

# phrase as written, what it means; longer phrases are looked for first
CONCEPTS: Mapping[str, str] = {
    "side seam": "side seam",
    "side seams": "side seam",
    "underarm": "underarm",
    "under arm": "underarm",
    "waist": "waist",
    "waistline": "waist",
    "waist line": "waist",
    "waist seam": "waist",
    "natural waist": "waist",
    "hip": "hip",
    "hips": "hip",
    "hip line": "hip",
    "bust": "bust",
    "bust line": "bust",
    "full bust": "full bust",
    "bust alteration": "full bust",
    "bust point": "bust point",
    "bust points": "bust point",
    "across back": "across back",
    "back width": "across back",
    "across chest": "across chest",
    "chest width": "across chest",
    "upper arm": "upper arm",
    "bicep": "upper arm",
    "wrist": "wrist",
    "arm length": "arm length",
    "above": "above",
    "length": "length",
    "height": "height",
    "slope": "slope",
    "point": "point",
    "back waist length": "back waist length",
    "front waist length": "front waist length",
    "dart": "dart",
    "darts": "dart",
    "bust height": "bust point+height",
    "centre back": "centre back",
    "center back": "centre back",
    "cb": "centre back",
    "centre front": "centre front",
    "center front": "centre front",
    "cf": "centre front",
    "centre": "centre",
    "center": "centre",
    "sway back": "sway back",
    "swayback": "sway back",
    "hollow back": "sway back",
    "shoulder blades": "shoulder blades",
    "round back": "round back",
    "rounded back": "round back",
    "shoulder": "shoulder",
    "shoulders": "shoulder",
    "shoulder seam": "shoulder",
    "shoulder seams": "shoulder",
    "shoulder point": "shoulder point",
    "shoulder tip": "shoulder point",
    "shoulder slope": "shoulder point",
    "forward shoulder": "forward shoulder",
    "neckline": "neckline",
    "neck": "neckline",
    "neck line": "neckline",
    "side neck": "side neck point",
    "side neck point": "side neck point",
    "armhole": "armhole",
    "armholes": "armhole",
    "armscye": "armhole",
    "scye": "armhole",
    "armhole depth": "armhole+length",
    "waist dart": "waist dart",
    "waist darts": "waist dart",
    "side dart": "side dart",
    "bust dart": "side dart",
    "side bust dart": "side dart",
    "shoulder dart": "shoulder dart",
    "crown": "crown",
    "sleeve crown": "crown",
    "cap": "crown",
    "sleeve cap": "crown",
    "sleeve head": "crown",
    "hem": "hem",
    "points": "point",
    "end": "point",
    "ends": "point",
    "side": "side",
    "sides": "side",
    "back neck": "neckline+back",
    "front neck": "neckline+front",
    "under the arm": "underarm",
    "under the arms": "underarm",
    "across the back": "across back",
    "across her back": "across back",
    "across the chest": "across chest",
    "across the shoulder blades": "across back",
    "over the shoulder blades": "across back",
    "between the shoulder blades": "across back",
    "shoulder blade": "shoulder blades",
    "upper arms": "upper arm",
    "top arm": "upper arm",
    "hip curve": "hip",
    "below": "below",
    "crotch": "crotch",
    "crotch seam": "crotch",
    "crotch depth": "crotch",
    "rise": "crotch",
    "body rise": "crotch",
    "fork": "fork",
    "crotch point": "fork",
    "inseam": "inseam",
    "inseams": "inseam",
    "inside leg": "inseam",
    "thigh": "thigh",
    "thighs": "thigh",
    "knee": "knee",
    "knees": "knee",
    "leg": "leg",
    "legs": "leg",
    "ankle": "ankle",
    "seat": "seat",
    "bottom": "seat",
    "stomach": "stomach",
    "tummy": "stomach",
    "abdomen": "stomach",
    "waist seams": "waist",
    "in front": "front",
    "at the back": "back",
    "at the front": "front",
    "hemline": "hem",
    "necklines": "neckline",
    "necks": "neckline",
    "crowns": "crown",
    "sleeve caps": "crown",
    "sleeve heads": "crown",
    "side darts": "side dart",
    "bust darts": "side dart",
    "shoulder darts": "shoulder dart",
    "shoulder tips": "shoulder point",
    "shoulder points": "shoulder point",
    "wrists": "wrist",
}
PIECES: Mapping[str, str] = {
    "bodice": "bodice",
    "skirt": "skirt",
    "trousers": "trousers",
    "trouser": "trousers",
    "sleeve": "sleeve",
    "sleeves": "sleeve",
    "front": "front",
    "fronts": "front",
    "back": "back",
    "backs": "back",
}
ONE_SIDE = ("left", "right")
ONLY = ("only", "alone")

_TAKE_OUT: tuple[Way, ...] = ("pinched", "in", "shorter")
_SPREAD: tuple[Way, ...] = ("slashed", "out", "longer")
_OUT_OF_CLOTH = (
    "pinned",
    "pin",
    "pinch",
    "pinched",
    "took",
    "take",
    "taken",
    "tuck",
    "tucked",
    "fold",
    "folded",
    "dart",
)
WAYS: Mapping[str, tuple[Way, ...]] = {
    **{word: (way,) for way, words in WAY_WORDS.items() for word in words},
    **{f"{verb}{it} out": _TAKE_OUT for verb in _OUT_OF_CLOTH for it in ("", " it", " them")},
    **{
        f"{verb}{it} in": ("in",)
        for verb in ("take", "took", "taken", "bring", "move", "pin", "pinned", "nip", "nipped")
        for it in ("", " it", " them")
    },
    **dict.fromkeys(("pinch", "pinched", "tuck", "tucked"), _TAKE_OUT),
    **dict.fromkeys(("spread", "opened", "open", "slash", "slashed"), _SPREAD),
    **dict.fromkeys(("lap", "lapped", "overlap"), ("in", "shorter")),
    **dict.fromkeys(("add", "added", "more", "more room", "room"), ("out", "longer")),
    **dict.fromkeys(("take up", "took up", "taken up", "shorten", "shortened"), ("shorter", "up")),
    "less": ("in", "shorter"),
}
"""Ways that were told, each with what it can mean."""

COMPLAINTS: Mapping[str, tuple[Way, ...]] = {
    "tight": ("out", "longer"),
    "close": ("out",),
    "toonarrow": ("out", "longer"),
    "small": ("out",),
    "skimpy": ("out",),
    "loose": ("in",),
    "wide": ("in", "shorter"),
    "broad": ("in", "shorter"),
    "big": ("in",),
    "large": ("in",),
    "slack": ("in",),
    "full": ("in",),
    "long": ("shorter", "up"),
    "short": ("longer", "down"),
    "low": ("up", "shorter"),
    "deep": ("up", "shorter"),
    "high": ("down", "longer"),
    "shallow": ("down", "longer"),
    "sloping": ("down",),
    "far apart": ("in",),
    "close together": ("out",),
    "near together": ("out",),
    "far back": ("forward",),
    "far to the back": ("forward",),
    "far backwards": ("forward",),
    "far forward": ("backward",),
    "far to the front": ("backward",),
    "far over the arm": ("shorter",),
    "far off the shoulder": ("shorter",),
    "far out": ("in",),
    "far in": ("out",),
}
"""What is said to be wrong, and the ways that put it right."""

SIGNS: Mapping[str, tuple[str, ...]] = {
    "gape": ("gape", "gapes", "gaping", "gaps", "gap", "stand away", "stands away", "standing away", "stands off")
    + ("hang away", "hangs away", "stands out", "bulges", "bulge", "gapes open"),
    "drag": ("drag", "drags", "drag line", "drag lines", "pull lines", "pull line", "tension lines", "dragging"),
    "pull": ("pull", "pulls", "pulling", "pulled", "strain", "strained", "strains", "straining", "stretched")
    + ("binds", "bind", "tugs"),
    "fold": ("fold", "folds", "wrinkle", "wrinkles", "crease", "creases", "diagonal lines", "slanting lines"),
    "crossfold": ("crossfold",),
    "upfold": ("upfold",),
    "ride up": (
        "ride up",
        "rides up",
        "riding up",
        "pull up",
        "pulls up",
        "pulls upwards",
        "hikes up",
        "creeps up",
        "hitches up",
    )
    + ("draws up",),
    "cut in": ("cuts in", "cut in", "cutting in", "digs in", "dig in", "cuts into", "digs into", "chokes", "choke")
    + ("pinches", "rubs"),
    "bubble": ("bubble", "bubbles", "pucker", "puckers", "poke", "dimple", "dimples", "stick out", "sticks out"),
    "baggy": ("baggy", "bags", "bagging", "droops", "sags", "sagging", "blouses"),
    "swing": ("swing", "swings", "slants", "slant", "leans", "twist", "twists", "twisted", "twisting", "swinging"),
    "dip": ("dip", "dips", "drops", "sinks", "droop"),
    "poke out": ("poke out", "pokes out", "kicks out", "flares out", "juts out"),
    "cup": ("cup", "cups", "cupping", "clings", "cling"),
    "fullness": (
        "fullness",
        "puckered",
        "gathers",
        "surplus",
        "much cloth",
        "much fabric",
        "much material",
        "extra cloth",
    )
    + ("extra fabric", "excess", "spare cloth", "loose cloth"),
    "arm raised": ("armraised",),
}
"""What is seen or felt, which says by itself neither where to change nor how much."""

REWRITTEN = (
    (r"\b(?:horizontal|crosswise|level) (?:folds?|wrinkles?|creases?|ridges?)\b", "crossfold"),
    (r"\b(?:vertical|lengthwise|upright) (?:folds?|wrinkles?|creases?|ridges?)\b", "upfold"),
    (r"\b(?:folds?|wrinkles?|creases?|ridges?)((?: \w+){0,3}?) across\b", r"crossfold\1"),
    (
        r"\b(?:cannot|can t|can not)?\s*(?:lift|raise|move|reach)\w* (?:up )?(?:her|his|my|the|their|both) arms?\b",
        "armraised",
    ),
    (r"\breach\w* (?:forwards?|out|up)\b", ""),
    (r"\b(?:too|so|is|are) narrow\b", "toonarrow"),
    (r"\b(?:too|so) ", ""),
)
"""Turns of phrase whose words would mean something else one by one: pattern and what stands for it."""

_FILLERS = (
    "please do does did come comes draw drawn nip nipped walking walk walks sitting bending bend when cloth "
    "fabric material much extra "
    "the at by to of on a an and both each all round around it along whole from seam seams piece pieces "
    "line lines level with pin pinned cut cuts let lets take taken taking took make made move moved is "
    "are was be there here this that these those its their her his she he they them i we my me you your "
    "when where while but so too much very little bit rather quite just slightly somewhat again about "
    "over under between through into towards toward off away lies lie lying lay runs run running sits sit "
    "sitting hangs hang hanging feels feel felt looks look seems has have had shows show showed body "
    "bodies bring brings brought put puts set needs need should must want wants slanting diagonal slanted "
    "straight altogether total together top part across fitting toile also still as well for if "
)
FILLERS = frozenset(_FILLERS.split())
"""Words that say nothing here."""
PASSED_OVER = frozenset(("in the", "in her", "in a", "in its", "in one", "up to", "down to", "out of", "so that"))
"""Of two words: those that are ways when they stand alone."""
