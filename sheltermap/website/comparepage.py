"""Two plans side by side, as one page that needs no other file.

In: the ``compare`` contract. Out: HTML. Assumes the template escapes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from sheltermap.vocabulary import FACTORS
from sheltermap.website import environment, words


def compare_page(result: Mapping[str, Any]) -> bytes:
    """
    Return two plans as a page.

    Parameters
    ----------
    result : mapping
        From ``report.compared``.

    Returns
    -------
    bytes
        The same for the same plans; without a script.
    """
    causes = [(words.FACTOR_WORDS[factor], result["causes"][factor]) for factor in FACTORS]
    text = (
        environment.environment()
        .get_template("compare.html.j2")
        .render(
            policy_mark=environment.POLICY_MARK,
            css=Markup(environment.asset("site.css").decode()),
            sides=list(zip("AB", result["plans"], strict=True)),
            difference=result["difference"],
            legs=result["legs"],
            causes=causes,
            caution=result["caution"],
        )
    )
    return environment.with_policy(text)
