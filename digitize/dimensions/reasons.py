"""The one registry of reasons: why a value stands as it does, in a machinist's words."""

from enum import StrEnum


class Reason(StrEnum):
    """Sentences with named gaps; `Reason.X.say(...)` fills them."""

    READS = "reads {text}"
    MEASURES = "measures {measured} +- {std} {unit} on the sheet"
    COUNTED = "{count} equal ones are drawn"
    FITS = "reading and measurement agree within {z:.1f} standard errors"
    CLOSES_CHAIN = "closes the chain {terms} = {total}"
    BREAKS_CHAIN = "the chain {terms} does not make {total}: it is out by {gap}"
    ALSO_GIVEN = "view {view} gives {text} for the same size"
    GIVEN_OTHERWISE = "view {view} gives {text} for the same size: one of the two is wrong"
    OTHER_VIEW = "view {view} shows the same size: {measured} +- {std} {unit} there"
    GEAR_RELATION = "fits the gear relation {relation}"
    NO_STANDARD_TEETH = "is drawn as it is written: the teeth are no standard ones, or their pitch or number is wrong"
    GEAR_RELATION_BROKEN = "does not fit the gear relation {relation}: out by {gap}"
    KEY_TABLE = "is the keyseat that {standard} gives for the agreed {diameter} of {size}"
    THREAD_TABLE = "diameter and pitch go together in the {series} thread table"
    RESTATED = "{other} beside it is the same length"
    RESTATED_OTHERWISE = "{other} stands beside it for the same length, which would be {told}: one of the two is wrong"
    RIVALS = "other readings that the drawing can't tell apart: {rivals}"
    SEEN_OTHERWISE = "the reader saw {first} first: only the drawing prefers this reading"
    UNDECIDED = "its last figure is not settled: other readings keep a chance of 1 in {odds}, where 1 in {limit} may"
    CONTRADICTS = "reads {text} but measures {measured} {unit}: {gap} {unit} apart, {z:.0f} standard errors"
    BROKEN_VIEW = "the view is broken between its ends, so that it is drawn shorter than it is: one witness only"
    WOULD_FIT = "{rival} would fit the drawing"
    PART_OF = "may be a part of {longer}, which would fit the drawing"
    NONE_FITS = "of the readings that are likely none fits the drawing"
    PEN_STRAYS = "the two are no further apart on the paper than a pen may stray"
    ANOTHER_LINE = (
        "another line nearby fits the reading, or another figure this line: which belong together is not sure"
    )
    FAR_LINK = "stands some way off the nearest line: which one it measures is not sure"
    LOOSE_LINE = "where the line that it stands at ends is not sure: an arrowhead may have been missed"
    UNCERTAIN_READING = "the reading itself is not sure (probability {probability:.2f})"
    NOT_MEASURED = "nothing on the sheet was found that it measures: one witness only"
    NO_COUNT = "speaks of holes and not of how many: the count may have run into the size"
    RUNS_ON = (
        "it may be a part of something longer: it leans, or lettering that belongs to nothing else stands beside it"
    )
    ONE_LIMIT = "it stands or reads like one of two limits, and the other was not found: the size may lie off it"
    CUT_BEFORE = "a line runs into it where a figure before it may stand; what is drawn is too small for one"
    IN_TABLE = "the letter {letter} stands for a size: the table of the sizes gives it"
    OF_ONE_READING = "of {text} the drawing contradicts another part: the lettering may be misread"
    ASSUMED_END = "one end of the measured length had to be assumed"
    NO_SCALE = "too few dimensions to know the scale of its view: one witness only"
    SHAPE_UNKNOWN = "how the sheet is bent or stretched is not known: what is measured on it proves too little"
    OFF_SCALE_VIEW = "its view is not drawn to a common scale: one witness only"
    UNIT_UNSURE = "whether it is inches or millimetres is not sure"
    MARKED_OFF_SCALE = "marked not to scale on the print: not measured"
    STRAY = "it stands at no line: it may be a part of something else"
    GOVERNED = "takes its tolerance of +-{allowed} from the note {note}, which only its reading speaks for"
    HOW_MANY = "says how many of the part to make, which nothing on the sheet can show"
    CONFIRMED = "confirmed by {by} on {on}"
    REFERENCE = "given for reference on the print"
    TOO_LARGE = "it is larger than the whole sheet, at the scale of its views: a point or more was lost"
    UNREADABLE = "lettering found, no reading good enough"
    STRUCK_OUT = "a line runs through it: if it was struck out, another figure takes its place"
    OTHER_INK = "it, or a mark at it, is in another ink than the drawing: it may have been changed later"
    NOT_PARSED = "looks like {text}, which is no dimension: {reason}"
    LACKING = "no figure gives the {what} in view {view}: scaled from the print {size} +- {std} {unit}"
    EXCESS = "the chain {terms} = {total} is closed: one of its figures is more than a maker needs"
    ADDED_UP = "its links allow {worst} {unit} together, +-{chance} where chance rules, and its total {own} {unit}"

    def say(self, **gaps: object) -> str:
        """Fill the gaps.

        Examples
        --------
        >>> Reason.READS.say(text='1 3/8"')
        'reads 1 3/8"'
        """
        return self.value.format(**gaps)


def quoted(text: str) -> str:
    """A text of several rows within a sentence.

    Examples
    --------
    >>> quoted(".751\\n.750")
    '.751 over .750'
    """
    return text.replace("\n", " over ")
