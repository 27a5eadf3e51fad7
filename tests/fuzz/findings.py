"""What trials and testers have found, and the test that holds each: docs/reliability.md lists it."""

from __future__ import annotations

FINDINGS = [
    (
        "An older store was copied by the process that held it; closing the copy let go of the lock, and another "
        "process could have changed the store at the same time.",
        "keeping/test_backup.py",
        "nobody_gets_at_an_older_store_while_its_backup_is_kept",
    ),
    (
        "`vehicle load` and `job load` of several files, killed between two, left some of them.",
        "keeping/test_sudden_death.py",
        "what_was_answered_is_there_and_the_rest_is_absent",
    ),
    (
        "A full disk ended in a traceback: at the end of a change, while publishing, while copying.",
        "keeping/test_faults.py",
        "on_a_full_disk_nothing_changes_and_it_is_said",
    ),
    (
        "A store without rights was said to be no store at all.",
        "keeping/test_faults.py",
        "in_a_folder_without_rights_nothing_changes_and_it_is_said",
    ),
    (
        "A reader whose version was cleared away while it took it in gave up, where a newer one was there.",
        "keeping/test_attached.py",
        "readers_see_whole_versions_only_while_others_come",
    ),
    (
        'A figure written as `{"value": null}` ended in a traceback.',
        "fuzz/test_found.py",
        "a_figure_without_a_value_is_refused_with_its_place",
    ),
    (
        "A number such as `1e999999999999999999999` in any JSON ended in a traceback.",
        "fuzz/test_found.py",
        "a_number_beyond_all_measure_is_no_document",
    ),
    (
        "A spreadsheet with a byte turned over ended in a traceback.",
        "fuzz/test_found.py",
        "a_spreadsheet_with_a_byte_turned_over_is_refused",
    ),
    (
        "A Parquet file with a spoiled page ended in a traceback.",
        "fuzz/test_found.py",
        "a_parquet_with_a_spoiled_page_is_refused",
    ),
    (
        "A name that is not known was refused without a fix, where there were none or very many.",
        "fuzz/test_found.py",
        "a_name_that_is_not_known_always_has_a_fix",
    ),
    (
        "The page broke where a catalog without versions was to go back, and on numbers such as `²` or of 5,000 "
        "digits.",
        "fuzz/test_found.py",
        "going_back_in_a_catalog_that_has_no_versions_is_refused_by_the_page",
    ),
    (
        "Papers, drawings, spreadsheets, maps and exported jobs were written in place: killed on the way, half a file "
        "stood there under its own name.",
        "keeping/test_sudden_death.py",
        "what_was_answered_is_there_and_the_rest_is_absent",
    ),
    (
        "A name of ten megabytes that is not known was told again whole.",
        "fuzz/test_large.py",
        "a_word_is_taken_or_refused_in_few_words",
    ),
    (
        "Half a character in the name of a part that was measured ended in a traceback.",
        "fuzz/test_large.py",
        "a_word_is_taken_or_refused_in_few_words",
    ),
    (
        "A figure that may be negative, such as a level or a position, had no least: -10000000000 dB was taken.",
        "fuzz/test_found.py",
        "a_figure_that_may_be_negative_ends_somewhere_on_both_sides",
    ),
    (
        'A form of the page stored half-typed values under "Saved", reported conflicts with itself, or stayed at '
        '"Saving", when one typed on while it saved.',
        "web/test_typing.py",
        "what_is_typed_is_what_is_stored",
    ),
    (
        "1,500 half-sent heads stopped the page for as long as they were held and wrote 169,000 lines of log in 35 s.",
        "web/test_floods.py",
        "half_sent_heads_neither_stop_the_page_nor_fill_its_log",
    ),
    (
        "100 guesses of the password side by side took 1.4 GB, stopped the page for 16 s and could lock all out.",
        "web/test_floods.py",
        "a_hundred_guesses_take_little_memory_and_lock_out_nobody_else",
    ),
    (
        "`/paper?package=-1` showed package 1.",
        "web/test_papers.py",
        "no_other_number_stands_in_for_one_that_is_none",
    ),
]
"""What it was, the file of the test, and its name without `test_`."""
