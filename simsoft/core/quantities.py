"""What a reader calls a quantity: one word for each, the same everywhere."""

from __future__ import annotations

QUANTITY_WORDS = {
    "flap_frequency": "rate",
    "start_frequency": "rate at the start",
    "fold_back": "fold-back",
    "curl_up": "curl-up",
    "left_right_bias": "left-right bias",
    "left_right_offset": "left-right offset",
    "youngs_modulus": "modulus",
}


def words(quantity: str) -> str:
    """Return the name of a quantity as a reader says it.

    Parameters
    ----------
    quantity : str, as in records and case keys
    """
    return QUANTITY_WORDS.get(quantity, quantity.replace("_", " "))
