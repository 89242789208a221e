"""Lethality of a heat process from its logged temperatures. Shown, never in place of a tested process."""

from __future__ import annotations

from collections.abc import Sequence

from underoak.errors import BadData
from underoak.model.problem import Problem
from underoak.model.quantities import counted

REFERENCE_C = 121.1
Z_C = 10.0
_HOTTEST_C = 150.0


def lethal_rate(temperature_c: float, *, reference_c: float = REFERENCE_C, z_c: float = Z_C) -> float:
    """Lethal rate L: minutes at ``reference_c`` that one minute at ``temperature_c`` counts for.

    Method: L = 10^((T - Tref) / z). Source: general formula, second-hand. Check: kitchen.toml.
    """
    return float(10.0 ** ((temperature_c - reference_c) / z_c))


def lethality_min(
    log: Sequence[tuple[float, float]], *, reference_c: float = REFERENCE_C, z_c: float = Z_C
) -> float:
    """F value of a logged process, minutes at ``reference_c`` (F0 with the defaults).

    Parameters
    ----------
    log : pairs of (minutes since the start, °C at the coldest point), at least two, clock going forward

    Method
    ------
    Trapezoid rule over the lethal rates: F = sum (L_i + L_i+1) / 2 x (t_i+1 - t_i).

    Source
    ------
    myrseth_1985 worked example (14.6 min, heating part 8.6 min), second-hand. Check: kitchen.toml.

    Raises
    ------
    BadData   with every faulty line: clock backwards, temperature out of range (°F as °C)

    **Fails towards** refusing: a log with one faulty line gives no figure at all.
    """
    problems = log_problems(log)
    if problems:
        raise BadData(problems)
    rates = [lethal_rate(t, reference_c=reference_c, z_c=z_c) for _, t in log]
    return sum(
        (a + b) / 2.0 * (t1 - t0)
        for (t0, _), (t1, _), a, b in zip(log, log[1:], rates, rates[1:], strict=False)
    )


def log_problems(log: Sequence[tuple[float, float]], where: str = "log") -> list[Problem]:
    """Everything that is wrong with a temperature log of a heat process."""
    if len(log) < 2:
        return [
            Problem(counted(len(log), "reading"), where, "at least two readings", "log the whole process")
        ]
    problems = []
    for number, ((before, _), (minutes, temperature)) in enumerate(
        zip([(-1.0, 0.0), *log], log, strict=False), 1
    ):
        if minutes <= before:
            problems.append(
                Problem(
                    f"the clock goes from {before:g} to {minutes:g} min",
                    f"{where}, reading {number}",
                    "a later time",
                )
            )
        if not -40.0 <= temperature <= _HOTTEST_C:
            problems.append(
                Problem(
                    f"{temperature:g} °C",
                    f"{where}, reading {number}",
                    f"-40 to {_HOTTEST_C:g} °C",
                    "if the log is in °F, convert it: (°F - 32) / 1.8",
                )
            )
    return problems


def acid_hold_min(temperature_f: float) -> float:
    """Minutes at a temperature for a 5-log kill of vegetative pathogens at pH 4.1 to 4.6.

    Method: t = 5.6 x 10^((160 - T) / 16.7), T in °F. Source: breidt_2014 Table 4, seen.
    Kills no spores and was not tested for wild kinds.
    """
    return float(5.6 * 10.0 ** ((160.0 - temperature_f) / 16.7))


def z_value_c(temperatures_c: Sequence[float], minutes: Sequence[float]) -> float:
    """Degrees that change a D value tenfold, from the least-squares line of log10 D over temperature.

    Source: odlaug_pflug_1977, seen (endpoints 9.9 in buffer pH 7, 9.4 in tomato juice).
    """
    import numpy as np

    slope, _ = np.polyfit(np.asarray(temperatures_c), np.log10(np.asarray(minutes)), 1)
    return float(-1.0 / slope)
