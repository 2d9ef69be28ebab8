"""The sowing weeks that a reader is shown: those of fields whose answer rests on them."""

import pandas as pd

from maps.assessment import Assessment
from maps.remembered import remembered


@remembered
def told_weeks(assessment: Assessment) -> pd.DataFrame:
    """Rows of ``years.weeks`` of the fields that the years judge; none where nothing is known.

    A field that the survey's rules leave out as too wet has weeks too, but of ground that nobody
    is to sow: shown beside that answer they would gainsay it. A Note tells of them where they do.
    """
    if assessment.years is None:
        return pd.DataFrame(columns=["field_id", "sow_date"])
    verdicts, weeks = assessment.verdicts, assessment.years.weeks
    judged = verdicts.loc[verdicts["score_basis"] == "years in ten", "field_id"]
    return weeks[weeks["field_id"].isin(judged)]
