"""Is it good enough? Limits set by the user, utilisations, and verdicts against limit and original.

A calculation aid only: the codes that apply where the vehicle runs and a licensed engineer's judgement come first.
"""

from . import fatigue
from .buckling import FieldBuckling, PanelFields, effective_width, field_buckling, panel_fields, stability
from .equipment import equipment
from .joints import (
    FastenerResistance,
    JointUse,
    butt_welds,
    en_resistance,
    fastener_group,
    fasteners,
    fillet_welds,
)
from .proof import (
    GaugeSheet,
    ProofTest,
    RosetteState,
    StrainReadings,
    compare_strains,
    predict_strains,
    read_strains,
    rosette,
)
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
