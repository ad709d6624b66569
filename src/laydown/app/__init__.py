"""Tasks by noun: a few arguments or a frozen request in, a frozen result out; the doors render."""

ROOMS = {
    "swatches": "import_swatches export_swatches list_swatches remove_swatches",
    "supplies.papers": "add_paper list_papers show_paper edit_paper remove_paper choose_anchors",
    "supplies.kits": (
        "create_kit list_kits show_kit own_colorants disown_colorants remove_kit check_names "
        "lay_out_box mark_stock"
    ),
    "sheets.printing": "begin_kit print_sheet list_sheets show_sheet remove_sheet",
    "supplies.ranges": "list_ranges show_range remove_range mark_pan",
    "matches.colors": "match_color make_chart write_chart",
    "light.checking": "check_light",
    "lessons.lessons": (
        "new_lesson show_lesson keep_lesson list_lessons fetch_lesson remove_lesson convert_lesson"
    ),
    "lessons.packs": "pack_lesson gather_lessons",
    "lessons.pages": "make_lesson_page make_range_page run_batch",
    "pictures.plans": "plan_picture show_plan draw_plan edit_plan lesson_from_plan",
    "pictures.painting": "paint_plan print_plan",
    "runs": "list_runs list_partners show_gradient show_overlays compare_ranges",
    "buying": "choose_kit",
    "reports": "write_report",
    "notebook.trials": (
        "add_trial list_trials show_trial find_trials edit_trial undo_trial erase_trial "
        "export_trials import_trials print_trials"
    ),
    "notebook.finished": "keep_finished list_finished show_finished remove_finished",
    "notebook.asking": "explain_trial suggest_trials compare_hands show_calibration",
    "light.lightfastness": (
        "rate_lightfastness list_lightfastness import_lightfastness export_lightfastness "
        "add_window_test forget_window_test"
    ),
    "light.life": "forecast_life",
    "library": (
        "show_library back_up_library copy_library restore_library undo_change redo_change "
        "list_history"
    ),
    "sheets.reading": "read_sheet",
    "sheets.cards": "read_card",
    "demo": "add_demo remove_demo run_demo",
}
"""The modules here that hold tasks, and the functions there that are tasks, between spaces."""
TASKS = {task: room for room, tasks in ROOMS.items() for task in tasks.split()}
"""Every task, and the module here that holds the function of this name; each has a command."""
