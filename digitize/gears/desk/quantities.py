"""Torque, power and speed as a person types them."""

import re
from math import pi

from calibrate.errors import InputError
from digitize.gears.lengths import exact_number

LBF_N = 4.4482216152605
"""Newtons in a pound-force, exact (0.45359237 kg at 9.80665 m/s2)."""
FOOT_M = 0.3048
INCH_M = 0.0254
_TORQUES = {
    "lbfft": LBF_N * FOOT_M,
    "lbft": LBF_N * FOOT_M,
    "ftlb": LBF_N * FOOT_M,
    "ftlbf": LBF_N * FOOT_M,
    "lbfin": LBF_N * INCH_M,
    "lbin": LBF_N * INCH_M,
    "inlb": LBF_N * INCH_M,
    "inlbf": LBF_N * INCH_M,
    "nm": 1.0,
}
_POWERS = {"hp": 550 * LBF_N * FOOT_M, "kw": 1000.0, "w": 1.0}
"""Watts; a horsepower is 550 foot-pounds a second."""
_SPEEDS = {"rpm": 1.0, "": 1.0, "rev/min": 1.0, "r/min": 1.0, "/min": 1.0}
_TYPED = re.compile(r"\s*(?P<number>\d+[ -]\d+/\d+|\d+/\d+|\d*[.,]?\d+|\d+\.)\s*(?P<unit>[A-Za-z/][A-Za-z/. ·-]*)?\s*")


def parse_torque_nm(text: str) -> float:
    """A torque in newton-metres.

    Examples
    --------
    >>> round(parse_torque_nm("20lbf.ft"), 3), parse_torque_nm("27 N.m")
    (27.116, 27.0)
    """
    return _parsed(text, "torque", _TORQUES, "20lbf.ft, 240lbf.in or 27Nm")


def parse_power_w(text: str) -> float:
    """A power in watts.

    Examples
    --------
    >>> round(parse_power_w("1hp"), 1), parse_power_w("0.75kW")
    (745.7, 750.0)
    """
    return _parsed(text, "power", _POWERS, "1hp or 0.75kW")


def parse_speed_rpm(text: str) -> float:
    """A speed in turns a minute.

    Examples
    --------
    >>> parse_speed_rpm("300rpm"), parse_speed_rpm("300")
    (300.0, 300.0)
    """
    return _parsed(text, "speed", _SPEEDS, "300rpm")


def _parsed(text: str, name: str, units: dict[str, float], example: str) -> float:
    match = _TYPED.fullmatch(text)
    unit = re.sub(r"[\s.·-]", "", (match["unit"] or "").lower()) if match else ""
    if match is None or unit not in units:
        raise InputError(f'The {name} "{text}" can\'t be read; write it like {example}.')
    value = float(exact_number(match["number"])) * units[unit]
    if value <= 0:
        raise InputError(f'The {name} "{text}" must be larger than zero.')
    return value


def torque_of_power_nm(power_w: float, speed_rpm: float) -> float:
    """Torque of a power at a speed: P / (2 pi n) (T = 63025 HP / rpm in pound-inches).

    Examples
    --------
    >>> round(torque_of_power_nm(parse_power_w("1hp"), 300) / (LBF_N * INCH_M), 2)
    210.08
    """
    return power_w / (2 * pi * speed_rpm / 60)


def torque_text(torque_nm: float, unit: str) -> str:
    """A torque in the sheet's system, three figures.

    Examples
    --------
    >>> torque_text(27.116, "in"), torque_text(27.116, "mm")
    ('20 lbf ft', '27.1 N m')
    """
    return f"{torque_nm / (LBF_N * FOOT_M):.3g} lbf ft" if unit == "in" else f"{torque_nm:.3g} N m"
