"""calendar.ics, read back by an independent parser (icalendar), and its lines by RFC 5545."""

from dataclasses import replace
from datetime import date

import icalendar
import pytest
from planned_farm import planned_farm
from small_farm import HOSTILE

from maps.calendar_ics import calendar_text, write_calendar


def _events(text):
    return [c for c in icalendar.Calendar.from_ical(text).walk() if c.name == "VEVENT"]


def test_an_independent_parser_reads_every_day(tmp_path):
    farm = planned_farm()
    path = tmp_path / "calendar.ics"
    write_calendar(farm, path)
    events = _events(path.read_bytes())
    sown = farm.calendar[farm.calendar["sown"]]
    assert len(events) == len(sown) > 0
    for event, day in zip(events, sown.itertuples(), strict=True):
        assert event.decoded("DTSTART").strftime("%m-%d") == day.usual_mmdd
        length = event.decoded("DTEND") - event.decoded("DTSTART")
        assert length.days == (7 if day.event == "sow" else 1)
    assert len({str(e["UID"]) for e in events}) == len(events)
    assert {type(e.decoded("DTSTART")) for e in events} == {date}, "all-day"


def test_the_sowing_stands_on_its_week_and_tells_its_usual_day():
    farm = planned_farm()
    table = farm.calendar.copy()
    sow = table["event"] == "sow"
    table.loc[sow, ["early_mmdd", "usual_mmdd", "late_mmdd"]] = ["06-05", "06-09", "06-10"]
    events = _events(calendar_text(replace(farm, calendar=table.assign(sow_date="06-04"))))
    sowing = [e for e in events if "Sow" in e["SUMMARY"]]
    assert sowing
    for event in sowing:
        assert event.decoded("DTSTART").strftime("%m-%d") == "06-04"
        assert event.decoded("DTEND").strftime("%m-%d") == "06-11"
        assert "June 9 (June 5 - June 10)" in event["DESCRIPTION"]


def test_the_day_stock_may_go_in_says_what_to_mind_and_no_text_is_left_hanging():
    events = _events(calendar_text(planned_farm()))
    opens = [e for e in events if "opens" in e["SUMMARY"]]
    assert opens and all("No horses, donkeys or pigs" in e["DESCRIPTION"] for e in opens)
    for event in events:
        told = str(event.get("DESCRIPTION", "ended."))
        assert told.endswith(".") and not told.startswith(str(event["SUMMARY"]))


def test_a_later_day_tells_its_spread_where_it_has_one():
    farm = planned_farm()
    table = farm.calendar.copy()
    opens = table["event"] == "feed_opens"
    table.loc[opens, ["early_mmdd", "usual_mmdd", "late_mmdd"]] = ["07-10", "07-16", "07-21"]
    events = _events(calendar_text(replace(farm, calendar=table)))
    told = [str(e["DESCRIPTION"]) for e in events if "opens" in e["SUMMARY"]]
    assert told and all(t.startswith("From 1 to 9 years of 10: July 10 - July 21.") for t in told)


def test_where_nothing_is_sown_no_calendar_is_left(tmp_path):
    farm, path = planned_farm(), tmp_path / "calendar.ics"
    assert write_calendar(farm, path) and path.exists()
    unsown = replace(farm, calendar=farm.calendar.assign(sown=False))
    assert not write_calendar(unsown, path) and not path.exists()


def test_a_hostile_name_is_told_whole_and_steers_nothing():
    events = _events(calendar_text(planned_farm()))
    mine = [str(e["SUMMARY"]) for e in events if str(e["SUMMARY"]).startswith("O'Brien")]
    assert mine and all(HOSTILE in title for title in mine)


def test_lines_are_short_and_end_as_the_standard_says():
    text = calendar_text(planned_farm())
    raw = text.encode()
    assert raw.endswith(b"END:VCALENDAR\r\n") and b"\n" not in raw.replace(b"\r\n", b"")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75


def test_long_names_in_other_letters_are_folded_between_letters():
    farm = planned_farm()
    fields = farm.fields.copy()
    fields["name"] = "Größe 草地 " * 20 + "; a, b\\c\nd"
    text = calendar_text(replace(farm, fields=fields))
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert "草地 Größe" in str(_events(text)[0]["SUMMARY"])


@pytest.mark.parametrize(
    ("made_on", "year"), [("2026-05-01", 2026), ("2026-06-04", 2026), ("2026-10-01", 2027)]
)
def test_the_season_is_the_next_that_can_still_be_sown(made_on, year):
    farm = planned_farm()
    farm = replace(farm, provenance=replace(farm.provenance, made_on=made_on))
    days = [e.decoded("DTSTART") for e in _events(calendar_text(farm)) if "Sow" in e["SUMMARY"]]
    assert {d.year for d in days} == {year}
