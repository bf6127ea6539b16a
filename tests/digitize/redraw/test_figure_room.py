"""Places of figures: neither words nor leaders run into other words."""

from shapely import LineString

from digitize.redraw.writing.figure_room import Room, clear_places


def test_a_leader_goes_round_another_figure() -> None:
    """The words stand clear, but their leader passes the end of the words between."""
    led = Room((0.0, 60.0), 10.0, 4.0, 0.0, (), led_from=(0.0, 0.0))
    between = Room((6.2, 30.0), 14.0, 4.0, 0.0, (((6.2, 10.0), (6.2, 28.0)),))
    fixed = between.box(between.at)
    assert LineString([(0.0, 0.0), led.at]).intersects(fixed)
    at, beside = clear_places([led, between], [])
    assert not LineString([(0.0, 0.0), at]).intersects(between.box(beside))
