"""The format of a store, incremented with every change of its tables."""

from __future__ import annotations

FORMAT = 9
"""The format that this program reads and writes."""
PART_INDEX = """
create table part_index (
    family varchar not null, name varchar not null, cells blob not null, numbers blob not null, words varchar not null,
    kind varchar not null);
"""

ADDED: dict[int, str] = {
    2: """
create sequence event_number;
create table event (
    event_id integer primary key default nextval('event_number'), happened_at timestamptz not null,
    by_whom varchar not null, what varchar not null, subject varchar not null, detail varchar, document varchar);
create table choice (
    job_id varchar not null, number integer not null, chosen_at timestamptz not null, by_whom varchar not null,
    rank integer not null, catalog_version integer not null, document varchar not null, primary key (job_id, number));
create table setup (
    job_id varchar not null, number integer not null, set_up_at timestamptz not null, by_whom varchar not null,
    document varchar not null, primary key (job_id, number));
create table signature (
    job_id varchar primary key, signed_at timestamptz not null, by_whom varchar not null, note varchar);
""",
    3: "create table word_setting (name varchar primary key, word varchar not null);",
    4: """
create table page_note (name varchar primary key, value varchar not null);
create table page_link (
    token_hash varchar primary key, job_id varchar not null, made_at timestamptz not null, by_whom varchar not null,
    expires_at timestamptz not null, revoked_at timestamptz, what varchar not null, page varchar not null);
""",
    6: """
create table chain (
    address varchar not null, chain_id varchar not null, number bigint not null, mark varchar not null);
""",
    7: """
create table supplier (name varchar primary key, id_prefix varchar not null);
create table supplier_list (list_name varchar primary key, supplier varchar not null);
create table mended_row (
    family varchar not null, part_id varchar not null, since integer not null, problem_id integer not null,
    over integer, primary key (family, part_id, since, problem_id));
create table problem_outcome (problem_id integer primary key, outcome varchar not null);
""",
    8: f"""
create table voided_reading (
    subject varchar not null, field varchar not null, value varchar not null, read_at timestamptz not null,
    voided_at timestamptz not null, by_whom varchar not null, note varchar not null,
    primary key (subject, field, value, read_at));
{PART_INDEX}
""",
    9: """
create table supplier_terms (
    name varchar primary key, price_is varchar not null, markup_pct decimal(15,6) not null, with_tax boolean not null,
    currency varchar not null, rate decimal(15,6) not null);
""",
}
"""SQL of the tables that each format has added."""

FILTERS = ("hp_min_hz", "hp_max_hz", "lp_min_hz", "lp_max_hz", "subsonic_hz")
COMPONENTS = ("tweeter_hole_mm", "tweeter_depth_mm", "filter_w_mm", "filter_h_mm", "filter_d_mm")
RADIO = ("preouts", "preout_v", "amp_channels", "amp_w", "amp_min_ohm", *FILTERS[1:])
SPEAKER = ("rms_w", "sens_db", "sens_basis", "low_hz", "high_hz", "sd_cm2", "xmax_mm")
AMPLIFIER = ("full_channels", "full_w_4ohm", "full_w_2ohm", "full_min_ohm", "input_min_v", "input_max_v")
ORIGINALS = {"dash": RADIO, "speaker": SPEAKER, "amp_spot": (*AMPLIFIER, "high_level_in", "hp_max_hz")}
ORIGINAL = {kind: tuple(f"original_{name}" for name in names) for kind, names in ORIGINALS.items()}

ADDED_FIGURES: dict[int, dict[str, tuple[str, ...]]] = {
    5: {"accessory": ("w_mm", "h_mm", "d_mm")},
    9: {
        "head_unit": FILTERS,
        "amplifier": FILTERS,
        "speaker": ("bolt_patterns", *COMPONENTS),
        "subwoofer": ("box_l",),
        "enclosure": ("port_mm", "port_w_mm", "port_h_mm", "port_flared"),
        "opening_speaker": ("role", "position", "tweeter_spot", "wire_m", *COMPONENTS, *ORIGINAL["speaker"]),
        "security": ("cuts_circuit",),
        "vehicle": ("keys_on_wheel", "rest_ma"),
        "opening_dash": ORIGINAL["dash"],
        "opening_amp_spot": ("run_m", "signal_m", "ground", *ORIGINAL["amp_spot"]),
    },
}
"""Fields that each format has added to families and to kinds of openings; figures have a tolerance, too."""

ADDED_FAMILIES: dict[int, tuple[str, ...]] = {9: ("install",)}
"""Families of parts that each format has added."""
