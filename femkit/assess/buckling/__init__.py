"""Is it stable: buckling factors against a limit, and each flat field of sheet between stiffeners by formulas."""

from .factors import stability
from .field_checks import FieldBuckling, field_buckling
from .fields import PanelFields, panel_fields
from .plate_buckling import effective_width

__all__ = ["FieldBuckling", "PanelFields", "effective_width", "field_buckling", "panel_fields", "stability"]
