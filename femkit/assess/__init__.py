"""Is it good enough? Limits set by the user, utilisations, and verdicts against limit and original.

A calculation aid only: the codes that apply where the vehicle runs and a licensed engineer's judgement come first.
"""

from . import fatigue
from .equipment import equipment
from .fasteners import FastenerResistance, en_resistance, fastener_group, fasteners
from .field_checks import FieldBuckling, field_buckling
from .fields import PanelFields, panel_fields
from .joints import JointUse
from .plate_buckling import effective_width
from .proof_test import GaugeSheet, ProofTest, compare_strains, predict_strains
from .readings import StrainReadings, read_strains
from .rosette import RosetteState, rosette
from .stability import stability
from .stiffness import (
    DeflectionLine,
    deflection_line,
    frequency_band,
    mass_changes,
    opening_movement,
    reaction_changes,
)
from .strength import Strength, strength, strength_table, utilisation
from .survey import Rates, Readings, Renewal, Survey, Worn, pitted_thickness, read_survey
from .verdict import Assessment, Finding, Verdict, judge
from .welds import butt_welds, fillet_welds

__all__ = [
    "Assessment",
    "DeflectionLine",
    "FastenerResistance",
    "FieldBuckling",
    "Finding",
    "GaugeSheet",
    "JointUse",
    "PanelFields",
    "ProofTest",
    "Rates",
    "Readings",
    "Renewal",
    "RosetteState",
    "StrainReadings",
    "Strength",
    "Survey",
    "Verdict",
    "Worn",
    "butt_welds",
    "compare_strains",
    "deflection_line",
    "effective_width",
    "en_resistance",
    "equipment",
    "fastener_group",
    "fasteners",
    "fatigue",
    "field_buckling",
    "fillet_welds",
    "frequency_band",
    "judge",
    "mass_changes",
    "opening_movement",
    "panel_fields",
    "pitted_thickness",
    "predict_strains",
    "reaction_changes",
    "read_strains",
    "read_survey",
    "rosette",
    "stability",
    "strength",
    "strength_table",
    "utilisation",
]
