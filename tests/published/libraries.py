"""General-purpose Bayesian-network libraries, imported in one place.

Both warn while they are being imported. Where warnings are errors the one from pyAgrum's compiled
types ends the interpreter, so the filter is lifted for the length of the import and no longer.
"""

import warnings
from typing import Any

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import pyagrum
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

gum: Any = pyagrum
"""Its type information is partial, so it is used without."""

__all__ = ["DiscreteBayesianNetwork", "TabularCPD", "VariableElimination", "gum"]
