"""What fitters say of a toile, in our own words, with what ought to become of it.

Written before the program could read any of them: of the first 86 it understood none, later 81 on the first trial.

The faults are those that dressmaking handbooks' chapters on fitting go through (neck, shoulders, bust, back, armhole,
side, waist, hip, skirt, sleeve); no book's text was at hand, so they stand here as common practice.
"""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A sentence; ``becomes`` what it ought to: done, a question how much, or likely causes to choose from.

    ``places`` is the place that is changed or asked for, or those of which at least one must be among the causes.
    ``amount_mm`` counts to the place's own *more*.
    """

    text: str
    becomes: Literal["done", "asked", "likely"]
    places: tuple[str, ...]
    amount_mm: float | None = None


def _done(text: str, place: str, amount_mm: float) -> Said:
    return Said(text=text, becomes="done", places=(place,), amount_mm=amount_mm)


def _asked(text: str, *places: str) -> Said:
    return Said(text=text, becomes="asked", places=places)


def _likely(text: str, *places: str) -> Said:
    return Said(text=text, becomes="likely", places=places)


SENTENCES = (
    # neck
    _done("the neckline gapes, pinched out 6 mm", "neckline pinched", 6.0),
    _done("Front neckline stands away, I pinned out 8 mm", "neckline pinched", 8.0),
    _done("the neck is too high in front, cut it down 1 cm", "neck depth", 10.0),
    _done("neckline too tight at the sides, let it out 5 mm", "neck width", 5.0),
    _done("back neck too low by 7 mm", "neck depth", -7.0),
    _asked("the neckline is too low", "neck depth"),
    _asked("neckline too wide at the side neck", "neck width"),
    _likely("the neckline gapes", "neckline pinched"),
    _likely("the back neck stands away from the neck", "neck width", "neckline pinched", "round back"),
    _likely("wrinkles below the back neck", "round back", "shoulder slope", "neck depth"),
    _likely("the neck feels tight and chokes her", "neck depth", "neck width"),
    # shoulders
    _done("shoulder seam is too long by 1 cm", "shoulder length", -10.0),
    _done("the shoulders are too narrow, add 8 mm to the shoulder seam", "shoulder length", 8.0),
    _done("shoulder seam sits too far back, bring it forward 1 cm", "forward shoulder", 10.0),
    _done("sloping shoulders: pinned down 1 cm at the shoulder point", "shoulder slope", 10.0),
    _done("square shoulders, let up 7 mm at the shoulder tip", "shoulder slope", -7.0),
    _asked("the shoulder seam hangs too far over the arm", "shoulder length"),
    _asked("shoulder seam lies too far to the back", "forward shoulder"),
    _likely("folds from the neck to the armhole", "shoulder slope"),
    _likely("drag lines from the shoulder point to the neck", "shoulder slope"),
    _likely("the bodice rides up at the shoulders", "shoulder slope", "length above the waist"),
    # bust and front
    _done("the bust dart points too low, 1.5 cm", "bust point down", -15.0),
    _done("bust darts point too high: bring them down 2 cm", "bust point down", 20.0),
    _done("the bust darts are too long by 1 cm", "side dart point", 10.0),
    _done("waist darts in the front end too high, shorten them 1.5 cm", "waist dart point", 15.0),
    _done("bust points are too far apart, move them in 8 mm", "bust point out", -8.0),
    _done("too tight over the bust, slashed and opened 3 cm", "full bust", 30.0),
    _asked("too tight across the bust", "full bust", "bust"),
    _asked("the bust dart points too high", "bust point down"),
    _asked("too tight across the chest", "across chest"),
    _likely("drag lines from bust to side", "full bust", "bust"),
    _likely("the front rides up at the waist", "full bust", "centre front at the waist", "length above the waist"),
    _likely("there is a bubble at the end of the bust dart", "side dart point"),
    _likely("slanting folds from the armhole to the bust point", "full bust", "armhole pinched"),
    _likely("the front is baggy below the bust", "full bust", "waist darts"),
    _likely("centre front hangs away from the body", "full bust", "centre front at the waist"),
    # back
    _asked("too tight across the back", "across back"),
    _asked("the back is too wide across the shoulder blades", "across back"),
    _done("across the back it is too narrow, let out 2 cm", "across back", 20.0),
    _done("a fold lies across the back above the waist, pinned out 1.5 cm at the centre back", "sway back", 15.0),
    _done("round back: slash across the shoulder blades and spread 1 cm", "round back", 10.0),
    _likely("folds lie across the back just above the waist", "sway back", "length above the waist"),
    _likely("the back pulls up at the waist", "round back", "length above the waist"),
    _likely("pulls between the shoulder blades when she reaches forward", "across back"),
    _likely("the back is strained over the shoulder blades", "across back", "round back"),
    # armhole
    _done("the armhole gapes at the front, took out 1 cm", "armhole pinched", 10.0),
    _done("Armhole too high under the arm, lower it 1 cm", "armhole", 10.0),
    _done("armholes are 12 mm too deep", "armhole", -12.0),
    _asked("the armhole is too low", "armhole"),
    _likely("the armhole gapes", "armhole pinched"),
    _likely("the armhole cuts in under the arm", "armhole", "across chest"),
    _likely("armhole feels tight", "armhole"),
    _likely("the back armhole stands away", "armhole pinched", "round back", "shoulder slope"),
    # side seams, waist, length
    _done("Let out the side seams 1 cm from waist to hip", "side seam from waist to hip", 10.0),
    _done("take the side seams in 5 mm from the underarm to the waist", "side seam from underarm to waist", -5.0),
    _done("waist too loose, pinned out 2 cm all round", "waist", -20.0),
    _done("the waist is too tight by 3 cm", "waist", 30.0),
    _done("bodice is too long in the waist, tuck out 2 cm", "length above the waist", -20.0),
    _done("the waistline sits too high, 1 cm", "length above the waist", 10.0),
    _done("skirt waist drops at the back, lift the centre back 1 cm", "skirt waist at the centre", -10.0),
    _asked("the waist is too loose", "waist"),
    _asked("side seams are too tight at the hip", "side seam at the hip"),
    _asked("the bodice is too short", "length above the waist"),
    _likely("the side seam swings to the front", "full bust", "sway back", "side seam"),
    _likely("side seam slants towards the back at the bottom", "full bust", "skirt waist at the centre"),
    # skirt
    _done("too tight over the hips, let out 4 cm altogether", "hip", 40.0),
    _done("skirt 3 cm too long", "skirt length", -30.0),
    _done("waist darts in the skirt back stick out, take them in 5 mm", "waist darts", 5.0),
    _asked("skirt too wide at the hip", "hip"),
    _likely("the skirt rides up and wrinkles below the waist", "hip"),
    _likely("the skirt hem dips at the back", "skirt waist at the centre"),
    _likely("the skirt pokes out at the front hem", "skirt waist at the centre"),
    _likely("folds under the seat", "skirt waist at the centre", "hip"),
    _likely("drag lines from the hip to the stomach", "hip", "waist darts"),
    _likely("the skirt cups under the seat", "hip", "skirt waist at the centre"),
    # sleeve
    _done("sleeves are too short by 2 cm", "sleeve length", 20.0),
    _done("sleeve too tight round the upper arm, let out 2.5 cm", "upper arm", 25.0),
    _done("the sleeve cap is too low, raise it 1 cm", "crown", 10.0),
    _done("too wide at the wrist by 3 cm", "wrist", -30.0),
    _asked("the sleeve is too tight at the upper arm", "upper arm"),
    _asked("the sleeve is too long", "sleeve length"),
    _likely("folds across the sleeve cap", "crown", "upper arm"),
    _likely("the sleeve drags from the top of the cap to the underarm", "crown", "upper arm"),
    _likely("she cannot lift her arm", "armhole", "crown", "across back"),
    _likely("the sleeve twists to the front", "crown"),
    _likely("there is too much fullness in the sleeve head", "crown"),
)
"""In the order of the body, from the neck down."""

SECOND = (
    _done("Front shoulder dart: draw its point back 1 cm", "shoulder dart point", 10.0),
    _done("lengthen the bodice above the waist by 1.5 cm, please", "length above the waist", 15.0),
    _done("The wrist is 1 cm too tight", "wrist", 10.0),
    _done("nip the waist in by 2 cm", "waist", -20.0),
    _done("hip needs 3 cm more room", "hip", 30.0),
    _done("raise the underarm half an inch", "armhole", -12.7),
    _done("pin out 1 cm at the front armhole", "armhole pinched", 10.0),
    _done("the back is too long, folded out 1 cm at centre back waist", "sway back", 10.0),
    _done("skirt: drop the hem 4 cm", "skirt length", 40.0),
    _asked("the sleeves are too short", "sleeve length"),
    _asked("shoulders too wide", "shoulder length"),
    _asked("let the waist out", "waist"),
    _asked("sleeve feels narrow at the upper arm", "upper arm"),
    _asked("bodice needs to be longer", "length above the waist"),
    _asked("the hem is too low", "skirt length"),
    _likely("horizontal wrinkles at the back waist", "sway back", "length above the waist"),
    _likely("the front neck is gaping", "neckline pinched"),
    _likely("tension lines point to the bust", "full bust", "bust"),
    _likely("skirt creeps up when walking", "hip"),
    _likely("I can't raise my arms", "armhole", "crown"),
    _likely("vertical folds down the back", "across back"),
    _likely("the bodice pulls at the front armhole", "across chest", "armhole"),
    _likely("the sleeve wrinkles at the top", "crown", "upper arm"),
    _likely("too much cloth at the back waist", "sway back", "waist darts", "length above the waist"),
)
"""Written once the first could be read, before any of these was tried."""

THIRD = (
    _done("take 1 cm out of the centre back length at the waist", "sway back", 10.0),
    _done("the back shoulder seam should come forward 8 mm", "forward shoulder", 8.0),
    _done("shorten the sleeve by 1.5 cm", "sleeve length", -15.0),
    _done("deepen the front neck 2 cm", "neck depth", 20.0),
    _done("widen the upper arm 1 1/2 cm", "upper arm", 15.0),
    _done("the front waist darts need to be 1 cm shorter", "waist dart point", 10.0),
    _done("increase the hip by 2 cm", "hip", 20.0),
    _done("the armhole is 5 mm too shallow", "armhole", 5.0),
    _asked("the neck is too tight", "neck width"),
    _asked("back neckline too high", "neck depth"),
    _asked("skirt waist too tight", "waist"),
    _asked("the wrists are too loose", "wrist"),
    _likely("creases run from the neck point to the armhole", "shoulder slope"),
    _likely("the armhole is uncomfortable and cuts into the front of the arm", "armhole", "across chest"),
    _likely("the skirt bags at the back below the waist", "skirt waist at the centre", "sway back"),
    _likely("puckers at the point of the dart", "side dart point"),
    _likely("wrinkles pointing to the shoulder tip", "shoulder slope"),
    _likely("the back waist pulls upwards", "round back", "length above the waist"),
    _likely("the hem is higher in front", "skirt waist at the centre"),
    _likely("the neckline is loose and floppy", "neckline pinched", "neck width"),
)
"""Written once the second could be read, before any of these was tried."""
