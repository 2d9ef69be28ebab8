"""What the grower says of herbicide that stays in the soil: none, a product, or nothing."""

import numpy as np
import pandas as pd

_NONE = ("none", "no")
_NOT_KNOWN = ("", "unknown", "not known", "?")
STATED = ("none", "named", "not stated")


def herbicide_stated(product: "pd.Series[str]") -> "pd.Series[str]":
    """One of STATED for each field: "none" is an answer, silence is not one.

    Parameters
    ----------
    product : what stands under ``herbicide_product``, any index; missing where nothing does.
    """
    said = product.astype(object).where(product.notna(), "").astype(str).str.strip().str.lower()
    none, silent = said.isin(_NONE), said.isin(_NOT_KNOWN)
    return pd.Series(np.select([none, silent], ["none", "not stated"], "named"), product.index)
