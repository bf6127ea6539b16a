"""What a leader shows, asked of edges given by their ends."""

from digitize.dimensions.linking.entries import parse_or_none
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.linking.led_edges import measure_led
from digitize.dimensions.table import Measured
from digitize.lettering.grammar import parse
from digitize.lettering.text import TextBlock
from digitize.strokes.primitives import Line, Role, Strokes

MM_PER_PX = 0.1
BLOCK = TextBlock(((0.0, 0.0), (100.0, 0.0), (100.0, 20.0), (0.0, 20.0)), 0.0, 20.0)


def shown(text: str, which: int, leader: Leader, strokes: Strokes) -> Measured | None:
    callout = parse_or_none(parse)(text)
    assert callout is not None
    return measure_led(leader, callout.values[which], BLOCK, strokes, MM_PER_PX)


def edge(*ends: float, role: Role = Role.VISIBLE) -> Line:
    return Line((ends[0], ends[1]), (ends[2], ends[3]), 3.0, role=role)
