"""What is said of the farm as a whole: the sentence that leads, and what to know before acting."""

from maps.assessment import Assessment
from maps.sentences import Teller


def farm_lead(assessment: Assessment, teller: Teller) -> str:
    """The sentence that leads the page; an owner is told that it is no plan."""
    said = _lead(assessment, teller)
    if assessment.farm.for_owner and assessment.calendar is not None:
        return teller.words("owner.rated", said=said)
    return said


def _lead(assessment: Assessment, teller: Teller) -> str:
    verdicts = assessment.verdicts
    count = verdicts.verdict.value_counts()
    go = verdicts[verdicts.verdict.isin(["sow", "sow with care"])]
    unknown = int(count.get("not known", 0))
    area = teller.legend.area(float(verdicts.area_ha.sum()))
    if unknown == len(verdicts):
        key = "farm.lead_one_unknown" if unknown == 1 else "farm.lead_unknown"
        return teller.words(key, n=unknown, area=area)
    sowable = teller.legend.area(float(go.sowable_ha.sum()))
    if len(verdicts) == 1:
        verdict = teller.verdict(verdicts.iloc[0]).capitalize()
        key = "farm.lead_one" if len(go) else "farm.lead_one_out"
        return teller.words(key, verdict=verdict, sowable=sowable, area=area)
    n, sow_n, care_n = (
        len(verdicts),
        int(count.get("sow", 0)),
        int(count.get("sow with care", 0)),
    )
    kind = "both" if sow_n and care_n else "sow" if sow_n else "care" if care_n else "none"
    key = f"farm.lead_{kind}_all" if n in (sow_n, care_n) else f"farm.lead_{kind}"
    said = [teller.words(key, n=n, sow_n=sow_n, care_n=care_n, sowable=sowable, area=area)]
    for name, number in (("out", int(count.get("leave out", 0))), ("unknown", unknown)):
        if number and kind != "none":
            said.append(teller.words(f"farm.{name}_{'one' if number == 1 else 'many'}", n=number))
    if kind == "none" and unknown:
        said.append(teller.words(f"farm.unknown_{'one' if unknown == 1 else 'many'}", n=unknown))
    return " ".join(said)


def cautions(assessment: Assessment, teller: Teller) -> list[str]:
    """The cautions that stand on every output, with the state's own law where we know one."""
    survey = f"survey_{teller.legend.units}"
    names = ["wetland", "flood", survey, "livestock", "lookalike", "law", "labels", "promise"]
    state = f"law_{assessment.farm.state}"
    if teller.words.has(f"caution.{state}"):
        names.insert(names.index("law") + 1, state)
    return [teller.words(f"caution.{name}") for name in names]
