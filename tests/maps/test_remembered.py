"""An answer is worked out once for the same objects, and anew for others that look alike."""

from maps.remembered import remembered, remembering


def test_the_same_objects_are_answered_once_and_others_anew():
    asked = []

    @remembered
    def answer(farm, number):
        asked.append(number)
        return [*farm, number]

    first, second = ["a"], ["a"]
    assert answer(first, 1) is answer(first, 1)
    assert answer(second, 1) == answer(first, 1) and answer(second, 1) is not answer(first, 1)
    assert answer(first, 2) == ["a", 2]
    assert answer(first, number=2) == ["a", 2]
    assert answer(number=first, farm=second) == ["a", first]
    assert answer(farm=first, number=second) == ["a", second], "other names, other answer"
    assert asked == [1, 1, 2, 2, first, second]


def test_only_a_few_answers_are_kept():
    asked = []

    @remembered
    def answer(farm):
        asked.append(len(asked))
        return asked[-1]

    farms = [[] for _ in range(6)]
    assert [answer(farm) for farm in farms] == [0, 1, 2, 3, 4, 5]
    assert answer(farms[-1]) == 5, "still known"
    assert answer(farms[0]) == 6, "forgotten"


def test_as_many_answers_are_kept_as_asked_for():
    asked = []

    @remembering(2)
    def answer(table):
        asked.append(len(asked))
        return asked[-1]

    tables = [[] for _ in range(3)]
    assert [answer(table) for table in tables] == [0, 1, 2]
    assert [answer(table) for table in tables[1:]] == [1, 2], "still known"
    assert answer(tables[0]) == 3, "forgotten"
