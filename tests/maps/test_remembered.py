"""An answer is worked out once for the same objects, and anew for others that look alike."""

from maps.remembered import remembered


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
