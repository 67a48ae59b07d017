"""The public body survey: what to expect of one measurement when others are known.

Eleven core measurements as one multivariate normal distribution, from ``data/survey/women.toml``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drafting.errors import DataError, Problem
from drafting.library import data_names, read_data
from drafting.units import MM_PER_CM

# ---- Published size tables in ``data/sizes``, under the measurements' own keys, centimetres


@dataclass(frozen=True, slots=True)
class SizeTable:
    """A published table: its ``sizes`` from small to large, each with its measurements (cm)."""

    key: str
    title: str
    source: str
    sizes: Mapping[str, Mapping[str, float]]


def size_tables() -> tuple[str, ...]:
    """The tables there are."""
    return data_names("sizes")


@cache
def size_table(key: str) -> SizeTable:
    """A table by its name. Raises :class:`DataError` that names the tables there are."""
    if key not in size_tables():
        raise DataError(
            Problem("there is no such size table", got=key, accepted=", ".join(size_tables()))
        )
    values = read_data(f"sizes/{key}").values
    sizes = {
        name: MappingProxyType({k: float(v) for k, v in row.items()})
        for name, row in values["sizes"].items()
    }
    head = values["table"]
    return SizeTable(key, head["title"], head["source"], MappingProxyType(sizes))


def size_names(table: str) -> tuple[str, ...]:
    """The sizes of a table, small to large. Raises :class:`DataError` for an unknown table."""
    return tuple(size_table(table).sizes)


def size(table: str, name: str) -> dict[str, float]:
    """One size's measurements. Raises :class:`DataError` for a size there is not."""
    rows = size_table(table).sizes
    if name not in rows:
        raise DataError(
            Problem("there is no such size", key=table, got=name, accepted=", ".join(rows))
        )
    return dict(rows[name])


#: The card's name for each core measurement that the survey calls otherwise. The bent arm stands
#: for the hanging one and the back width at mid-scye for the across back width, as they are.
CARD_NAMES: Mapping[str, str] = {
    "waist_girth_navel": "waist_girth",
    "back_waist_length_iso_est": "back_waist_length",
    "back_width_mid_scye": "across_back_width",
    "upper_arm_girth_flexed": "upper_arm_girth",
}
#: Where a normal distribution has 95, 99 and 99.9 % of its values: |z| from standard tables.
NORMAL_QUANTILES = (1.95996, 2.57583, 3.29053)


@dataclass(frozen=True, slots=True)
class Prediction:
    """What one measurement should be: ``mean`` and ``sd`` (cm), given ``known`` others."""

    mean: float
    sd: float
    known: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Survey:
    """Means, spreads (cm) and correlations of the core measurements, in the order of ``keys``.

    ``quantiles`` holds for each key the measured |z| that 95, 99 and 99.9 % of women stay below
    when the key is predicted from the other ten: tails heavier than a normal distribution's.
    """

    keys: tuple[str, ...]
    mean: NDArray[np.float64]
    sd: NDArray[np.float64]
    correlation: NDArray[np.float64]
    quantiles: Mapping[str, tuple[float, float, float]]

    def predict(self, key: str, known: Mapping[str, float]) -> Prediction:
        """``key`` predicted from those of ``known`` (cm) that are other core measurements.

        With none known it is the mean of all women. Raises ``ValueError`` for a key that is no
        core measurement.
        """
        index = self.keys.index(key)
        others = tuple(name for name in self.keys if name in known and name != key)
        if not others:
            return Prediction(float(self.mean[index]), float(self.sd[index]), ())
        at = [self.keys.index(name) for name in others]
        apart = np.array([known[name] for name in others]) - self.mean[at]
        among = self.correlation[np.ix_(at, at)]
        weights = np.linalg.solve(among, self.correlation[at, index])
        mean = self.mean[index] + self.sd[index] * float(weights @ (apart / self.sd[at]))
        left = 1.0 - float(weights @ self.correlation[at, index])
        return Prediction(float(mean), float(self.sd[index]) * left**0.5, others)

    def scaled(self, key: str, z: float) -> float:
        """A raw ``z`` of ``key`` as the z of a normal distribution that is equally rare."""
        measured = (0.0, *self.quantiles[key])
        normal = (0.0, *NORMAL_QUANTILES)
        size = abs(z)
        if size >= measured[-1]:
            return z * normal[-1] / measured[-1]
        return float(np.copysign(np.interp(size, measured, normal), z))

    def unscaled(self, key: str, z: float) -> float:
        """The raw z of ``key`` whose :meth:`scaled` value is ``z``."""
        measured = (0.0, *self.quantiles[key])
        normal = (0.0, *NORMAL_QUANTILES)
        size = abs(z)
        if size >= normal[-1]:
            return z * measured[-1] / normal[-1]
        return float(np.copysign(np.interp(size, normal, measured), z))


@dataclass(frozen=True, slots=True)
class SurveyColumn:
    """A column of the survey's public file and the ``measurement`` it stands for: in centimetres
    that is ``slope`` times the column's own and ``intercept``."""

    measurement: str
    slope: float = 1.0
    intercept: float = 0.0

    def value(self, millimetres: float) -> float:
        """The measurement (cm) by what stands in the column."""
        return self.intercept + self.slope * (millimetres / MM_PER_CM)


@cache
def survey_columns() -> Mapping[str, SurveyColumn]:
    """The columns of the survey's public file that a client's measurements can be read from, by
    their names there; ``data/survey/columns.toml`` says how near they are."""
    lines: dict[str, Any] = read_data("survey/women").values
    found = {}
    for name, row in read_data("survey/columns").values.items():
        line = lines[row["through"]] if "through" in row else {"slope": 1.0, "intercept": 0.0}
        less = float(row.get("less", 0.0))
        found[name] = SurveyColumn(
            str(row["measurement"]), float(line["slope"]), float(line["intercept"]) - less
        )
    return MappingProxyType(found)


@cache
def survey() -> Survey:
    """The survey under the card's own keys.

    The survey took the waist at the navel; mean and spread are carried to the ISO waist, which lies
    between the navel and the natural waist, by ``[waist_mapping]`` in its file. Correlations are
    left as they are.
    """
    values: dict[str, Any] = read_data("survey/women").values
    core = values["core"]
    names: list[str] = core["order"]
    mean = np.array(core["mean"], dtype=np.float64)
    sd = np.array(core["sd"], dtype=np.float64)
    mapping = values["waist_mapping"]
    waist = names.index("waist_girth_navel")
    mean[waist] = mapping["intercept"] + mapping["slope"] * mean[waist]
    sd[waist] = mapping["slope"] * sd[waist]
    keys = tuple(CARD_NAMES.get(name, name) for name in names)
    columns = zip(core["cond_z_q950"], core["cond_z_q990"], core["cond_z_q999"], strict=True)
    quantiles = dict(zip(keys, columns, strict=True))
    correlation = np.array(core["correlation"], dtype=np.float64)
    return Survey(keys, mean, sd, correlation, quantiles)
