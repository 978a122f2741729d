"""Names that people almost write, and what they stand for."""

from __future__ import annotations

import pytest

from sheltermap.validation import nearest


@pytest.mark.parametrize(
    ("written", "known", "meant"),
    [
        ("cold", ["bedding", "cold_sleeper"], "cold_sleeper"),
        ("cold", ["cold_sleeper", "cold_nights"], None),  # Two hold it: which is not clear.
        ("kit", ["supper", "many_kites_of_ours"], "many_kites_of_ours"),
        ("ki", ["supper", "many_kites_of_ours"], None),  # Two letters are in many names.
        ("SUPER", ["supper", "kites"], "supper"),
    ],
)
def test_a_wrong_name_stands_for_the_one_that_is_clear(written, known, meant):
    """Three letters of a name do where one name alone has them."""
    assert nearest(written, known) == meant
