"""How deep a reading lies after a step: numbers of the judges' ovens, beside the module's own docstring."""

import pytest

from kilnctl.model.deep_fall import DeepFall

ROOM_C, SOAK_C = 20.0, 820.0


def stays_after(reading_c, asked_s=30, for_s=1000, again_at_s=None):
    fall = DeepFall()
    for t in range(for_s):
        begins = t in (0, again_at_s)
        process_c = SOAK_C if t < 10 else reading_c
        fall.step(process_c, ROOM_C, t < asked_s or t == again_at_s, begins, 1.0)
        if fall.stays:
            return t
    return None


@pytest.mark.parametrize(("reading_c", "found_s"), [(340.0, 90), (580.0, 270), (640.0, None), (820.0, None)])
def test_the_deeper_the_sooner_and_a_charge_is_never_so_deep(reading_c, found_s):
    assert stays_after(reading_c) == (None if found_s is None else pytest.approx(found_s, abs=2))


def test_nothing_is_said_while_the_person_is_asked():
    assert stays_after(340.0, asked_s=900, for_s=940) is None


def test_a_second_call_does_not_make_the_low_reading_the_measure():
    assert stays_after(340.0, again_at_s=60) == pytest.approx(121, abs=2)


def test_no_step_no_word_and_none_after_it_is_dropped():
    fall = DeepFall()
    for _ in range(500):
        fall.step(100.0, ROOM_C, False, False, 1.0)
    assert not fall.stays
    fall.step(SOAK_C, ROOM_C, True, True, 1.0)
    fall.drop()
    for _ in range(500):
        fall.step(100.0, ROOM_C, False, False, 1.0)
    assert not fall.stays
