"""Which values count: the last attempt that was brought to an end, and nothing else."""

from meterlog.accuracy import Verdict
from meterlog.procedure import Pass
from meterlog.report.standing import Course, Redo, Standing
from tests.report.story import Story


def course(story: Story) -> Course:
    return story.session().course


def place(story: Story) -> int:
    return story.planned("level", Pass.ADJUST).place


def test_a_step_that_was_never_ended_is_not_done_even_with_a_value() -> None:
    story = Story()
    story.capture("level", Pass.ADJUST, 1.2277)
    assert course(story).standing(place(story)) is Standing.NOT_DONE
    assert course(story).counting(place(story)) == []


def test_the_last_attempt_counts_and_points_to_the_one_it_replaces() -> None:
    story = Story()
    story.level("level", Pass.ADJUST, 4.3)
    story.redo("level", Pass.ADJUST, "probe slipped")
    story.level("level", Pass.ADJUST, 4.0)
    first, second = story.values
    assert course(story).counting(place(story)) == [second]
    assert course(story).standing(place(story)) is Standing.PASS
    assert course(story).successor(first) == second
    redo = course(story).redo_of(first)
    assert redo is not None
    assert redo.reason == "probe slipped"
    assert course(story).redo_of(second) is None


def test_a_step_opened_again_and_not_ended_is_not_done() -> None:
    story = Story()
    story.level("level", Pass.ADJUST, 4.0)
    story.redo("level", Pass.ADJUST, "probe slipped")
    assert course(story).standing(place(story)) is Standing.NOT_DONE
    assert course(story).counting(place(story)) == []


def test_a_step_redone_and_then_skipped_is_skipped_and_its_first_value_does_not_come_back() -> None:
    story = Story()
    story.level("level", Pass.ADJUST, 4.0)
    story.redo("level", Pass.ADJUST, "probe slipped")
    story.skip("level", Pass.ADJUST, "trimmer broken")
    assert course(story).standing(place(story)) is Standing.SKIPPED
    assert course(story).counting(place(story)) == []


def test_a_redo_that_names_no_place_goes_where_the_next_outcome_shows() -> None:
    story = Story()
    story.level("level", Pass.ADJUST, 4.3)
    story.redo("level", Pass.ADJUST, "probe slipped", say_place=False)
    story.level("level", Pass.ADJUST, 4.0)
    assert [redo.place for redo in course(story).redos()] == [place(story)]


def test_a_redo_that_names_no_place_and_leads_to_nothing_opens_the_last_step() -> None:
    story = Story()
    story.level("level", Pass.ADJUST, 4.3)
    story.redo("level", Pass.ADJUST, "probe slipped", say_place=False)
    assert course(story).standing(place(story)) is Standing.NOT_DONE


def test_a_redo_before_anything_came_out_is_of_the_first_step() -> None:
    story = Story()
    story.redo("level", Pass.ADJUST, "too early", say_place=False)
    assert course(story).redos() == [Redo(0, story.actions[0].at_ns, "too early")]


def test_values_of_a_run_that_was_left_for_a_redo_elsewhere_do_not_count() -> None:
    """The engine goes back to the step at hand and begins it anew, in the same attempt."""
    story = Story()
    story.level("level", Pass.ADJUST, 4.0)
    left_behind = story.capture("bias", Pass.ADJUST, 0.1)
    story.redo("level", Pass.ADJUST, "bumped")
    story.level("level", Pass.ADJUST, 4.0)
    counted = story.capture("bias", Pass.ADJUST, 0.2)
    story.end("bias", Pass.ADJUST, Verdict.PASS, lasted_s=11.5)
    assert course(story).counting(counted.place) == [counted]
    assert left_behind.place == counted.place
