"""The scale fit on lengths with known truth."""

import numpy as np
import pytest

from calibrate.scale import Length, fit_scale, vote


def lengths(
    rng: np.random.Generator, count: int, log_scale: float, stretch: float, pen_mm: float, wrong: float = 0.0
) -> list[Length]:
    found = []
    while len(found) < count:
        nominal, cos2 = rng.uniform(5, 200), float(rng.choice([1.0, -1.0, 0.0]))
        measured = nominal / np.exp(log_scale + stretch * cos2 / 2) + rng.normal(0, pen_mm)
        if rng.random() < wrong:
            nominal *= rng.choice([0.5, 0.9, 1.1, 2.0])
        if measured > 2:
            found.append(Length(0, measured, 0.01, nominal, cos2))
    return found


def test_exact_lengths_give_the_exact_scale() -> None:
    exact = lengths(np.random.default_rng(1), 12, np.log(4.0), 0.008, 0.0)
    fit = fit_scale(exact, 1, [vote(exact)[0]])
    assert fit.log_scale(0, 1.0)[0] == pytest.approx(np.log(4.0) + 0.004, abs=2e-4)
    assert fit.log_scale(0, -1.0)[0] == pytest.approx(np.log(4.0) - 0.004, abs=2e-4)


def test_wrong_readings_do_not_win() -> None:
    errors = []
    for seed in range(60):
        some = lengths(np.random.default_rng(seed), 15, np.log(2.0), 0.004, 0.12, wrong=0.3)
        fit = fit_scale(some, 1, [vote(some)[0]])
        errors.append(abs(fit.log_scale(0, 0.0)[0] - np.log(2.0)))
    assert np.median(errors) < 0.001
    assert np.percentile(errors, 90) < 0.004


def test_the_stated_interval_holds_the_truth() -> None:
    held = []
    for seed in range(300):
        some = lengths(np.random.default_rng(1000 + seed), 12, np.log(2.0), 0.004, 0.15, wrong=0.05)
        fit = fit_scale(some, 1, [vote(some)[0]])
        value, _ = fit.log_scale(0, 1.0)
        held.append(abs(value - np.log(2.0) - 0.002) < fit.half_width(0, 1.0))
    assert 0.90 <= np.mean(held) <= 0.985


def test_the_pen_error_is_found_from_the_residuals() -> None:
    for pen_mm in (0.05, 0.25):
        found = []
        for seed in range(20):
            some = lengths(np.random.default_rng(seed), 30, np.log(2.0), 0.0, pen_mm)
            found.append(fit_scale(some, 1, [vote(some)[0]]).pen_std_mm)
        assert np.mean(found) == pytest.approx(pen_mm, rel=0.25)
