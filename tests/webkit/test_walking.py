"""The suite of walking, as it is, in the second engine.

What it leaves out needs a keyboard's keys one by one, a file chooser, or a phone's size of window,
or does again, in another order, what stands here.
"""

# ruff: noqa: F401 - what is brought in is what is run

from tests.browser.test_walk import (
    test_a_notice_stands_beside_the_rod_and_never_blocks,
    test_a_reading_is_taken_again_and_the_old_one_goes_only_if_told,
    test_a_run_is_walked_out_and_back_and_grows_as_it_is_walked,
    test_one_length_takes_its_digits_and_one_touch,
    test_saved_is_said_only_after_the_database_has_it,
    test_undo_is_one_touch_and_strikes_out,
    test_what_cannot_be_reached_is_noted_with_the_reason_and_the_walk_goes_on,
    test_what_cannot_be_saved_is_said_kept_and_saved_later,
    test_what_is_on_a_joist_is_asked_one_thing_at_a_time,
)
from tests.browser.test_walk_running import (
    test_running_readings_are_one_touch_away_and_start_at_the_wall,
    test_the_tapes_zero_outlives_the_page,
)
