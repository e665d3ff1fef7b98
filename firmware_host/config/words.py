"""What each key of job.toml and bench.toml means, in plain words with its unit.

One place for the template and for messages about a missing key; a test holds it to the schema.
"""

from __future__ import annotations

JOB_WORDS: dict[str, dict[str, str]] = {
    "job": {
        "part": "what you are making",
        "work_time_min": "honest minutes from mixing to bag closed",
        "rehearsed_min": "the same, as a dry fit took it; the plan believes this",
        "initiator_percent": "g of initiator solution per 100 g of resin; 0 for two-part epoxy",
    },
    "resin": {
        "preset": "name of a resin of the shipped library, in place of family",
        "family": "polyester, vinylester or epoxy; alone, it stands for all values below",
        "hardener_parts_per_100": "epoxy only: g of hardener per 100 g of resin, from the sheet",
        "initiator_reference_percent": "initiator per 100 of resin at which these values hold",
        "induction_min_at_25c": "minutes at 25 C until the inhibitor is used up; gel comes later",
        "induction_activation_kj_per_mol": "kJ/mol; how strongly warmth shortens that time",
        "induction_initiator_exponent": "how strongly more initiator shortens that time",
        "rate_at_25c_per_s": "1/s at 25 C; speed of the reaction once it runs",
        "rate_activation_kj_per_mol": "kJ/mol; how strongly warmth speeds it up",
        "rate_initiator_exponent": "how strongly more initiator speeds it up",
        "seed_fraction": "what lets the reaction start by itself",
        "order_m": "how strongly cured resin speeds up the rest",
        "order_n": "how strongly it slows as little is left",
        "gel_conversion": "part of the reaction that is done when the laminate gels",
        "heat_of_cure_kj_per_kg": "kJ per kg of resin, for the whole reaction",
        "conversion_limit_at_20c": "part of the reaction at which it practically stops at 20 C",
        "conversion_limit_per_k": "how much further it goes per degree above 20 C",
        "ln_rate_sd": "your doubt in the speed: 0.35 is about a third either way",
    },
    "laminate": {
        "thickness_mm": "mm, cured, where it is thickest over an area",
        "area_m2": "m2 of shell",
        "resin_mass_fraction": "resin in the finished laminate, as a part of its mass",
        "density_kg_per_m3": "kg/m3 of the finished laminate",
        "specific_heat_j_per_kgk": "J/(kg K) of the laminate",
        "loss_top_w_per_m2k": "W/(m2 K) from the laminate through bag and breather to the shop",
        "contact_w_per_m2k": "W/(m2 K) from the laminate to the form",
        "loss_back_w_per_m2k": "W/(m2 K) from the form to the shop",
        "mould_heat_kj_per_m2k": "kJ/(m2 K) the form takes up; foam 4, thin glass 14, plaster 44",
    },
    "cup": {
        "resin_g": "g of left-over resin in the cup with the couple",
        "specific_heat_j_per_kgk": "J/(kg K) of the resin",
        "loss_w_per_k": "W/K from the cup to the shop",
    },
    "bag": {
        "free_volume_l": "litres of air in bag, hose and pot up to the shut valve",
        "drop_rule": "most you let the gauge drop in a shut bag, in your own words",
        "drop_limit_pa_per_s": "the same as a number in Pa/s, in place of drop_rule",
        "pressure_limit_mbar": "mbar absolute in the bag; above it, once below, vacuum is lost",
        "pump_cycle_mbar": "mbar absolute where the pump switches on and off; only if it cycles",
    },
    "limits": {
        "latest_gel_min": "minutes after mixing; absent: 1.5 x the late end of the forecast",
        "highest_temperature_c": "C that laminate and form may reach",
    },
    "conditions": {
        "shop_c": "C of the air at the bench",
        "resin_c": "C of the resin in its can",
        "form_c": "C of the form's skin",
        "station_pressure_hpa": "hPa at the bench, not reduced to sea level",
        "altitude_m": "m above the sea; finds out a sea-level pressure",
    },
    "plies": {
        "area_m2": "m2 of one ply",
        "areal_weight_g_per_m2": "g/m2 of dry cloth",
        "count": "how many of them",
    },
    "target": {
        "resin_mass_fraction": "resin you aim for, as a part of the finished mass",
        "fibre_volume_fraction": "glass as a part of the volume; replaces the line above",
        "thickness_mm": "mm you aim for; replaces the two lines above",
        "lap_fraction": "extra cloth for overlaps; 0.10 is a tenth",
        "loss_fraction": "resin lost, as a part of what stays; replaces the three lines below",
        "peel_ply_g_per_m2": "g/m2 of resin that leaves with the peel ply",
        "bleeder_g_per_m2": "g/m2 of resin that the bleeder takes",
        "cup_and_brush_g": "g of resin that stays in cup and brush",
    },
    "dropper": {
        "name": "what you call this bottle",
        "drops_weighed": "how many drops you weighed; 20 is good",
        "weighed_g": "g they weighed together",
        "weighed_on": "date of that weighing",
        "drops": "drops you mean to count; judged in place of [job] initiator_percent",
        "drops_per_ounce": "your own rule; shown beside the dose",
        "ounce": "fluid or weight: which ounce that rule means",
    },
    "initiator": {
        "name": "what the bottle says",
        "density_g_per_ml": "g/ml of the solution",
    },
    "sheet": {
        "name": "which data sheet, and its date",
        "lowest_percent": "lowest initiator per 100 that it allows",
        "highest_percent": "highest initiator per 100 that it allows",
        "coldest_c": "C below which it says not to work",
        "gel_min": "minutes to gel that it prints",
        "gel_at_c": "C at which it prints them",
        "gel_at_percent": "initiator per 100 at which it prints them",
        "hardener_parts_per_100": "epoxy only: g of hardener per 100 g of resin that it prints",
    },
    "cup_tests": {
        "gel_min": "minutes from mixing to gel in the cup",
        "at_c": "C of the resin meanwhile",
        "initiator_percent": "initiator per 100 in that cup; absent: as for the job",
        "on": "date of the test",
    },
    "form": {
        "name": "what you call this form",
        "deepest_vacuum_kpa": "kPa below room pressure that it bears",
        "crush_kpa": "kPa that its foam is rated for; half is borne if nothing else is said",
        "damp": "true: plaster, core or cloth may hold water",
        "wet_acetone": "true: wiped with acetone and not aired since",
        "highest_temperature_c": "C that it bears",
        "shell_to_cup_ratio": "a shell on it gels this many times later than the cup",
    },
    "pump": {
        "name": "what you call this pump",
        "ultimate_mbar": "mbar absolute that it reaches against a shut valve",
    },
    "lots": {
        "what": "resin, initiator, cloth, ...",
        "lot": "number on the can or roll",
        "made": "date it was made",
        "opened": "date it was opened",
        "expires": "date on the can",
    },
    "two_cups": {
        "work_time_min": "honest minutes from mixing the first of two cups to bag closed",
    },
    "post_cure": {
        "conversion": "share of the whole reaction that the part shall have in the end",
        "glass_transition_c": "degC its glass transition shall reach; replaces the conversion",
        "highest_c": "degC that a post-cure may have, by the sheets of resin, core and form",
    },
    "weighed": {
        "dry_g": "g of the dry stack as cut",
        "part_g": "g of the part as it came off the form",
    },
    "people": {
        "who": "a name; stays in the job folder",
        "did": "what they did",
    },
    "overrides": {
        "name": "the reason not to mix that is set aside, as plan names it",
        "reason": "why, in your own words",
        "by": "who decided it",
    },
}

BENCH_WORDS: dict[str, dict[str, str]] = {
    "bench": {
        "name": "letters, digits, - and _; part of the broker's topics",
        "period_s": "seconds between two samples of the board",
    },
    "port": {
        "name": "what the channels call it",
        "kind": "bv1, a board on a serial line; or spi, i2c, modbus",
        "device": "the serial device, by-id name best; /dev/spidev0 or /dev/i2c-1 for a bus",
        "baud": "speed of the line",
        "parity": "modbus only: none, even or odd",
    },
    "source": {
        "port": "name of the spi, i2c or modbus port it hangs on",
        "index": "position of its raw, from 0; the channel names it",
        "part": "mcp3208, max31855, max31856, max31865, ads1115, bmp280 or holding_register, "
        "input_register",
        "select": "spi: number of the chip-select",
        "address": "i2c: the chip's address",
        "input": "converters: input 0, 1, ...; ads1115 also a pair: 0-1, 0-3, 1-3, 2-3",
        "range_v": "ads1115: 6.144, 4.096, 2.048, 1.024, 0.512 or 0.256 V",
        "wires": "max31865: 2, 3 or 4 wires to the element",
        "unit": "registers: the gauge's address on its line",
        "register": "registers: its number as it is sent, from 0",
    },
    "channel": {
        "name": "role first: bag, pump, barometer, part1, part2, ..., mould, shop, cup",
        "port": "name of the port it arrives on",
        "index": "position among the raws of a sample line, from 0",
        "kind": "adc12, adc16s, adc24s, tc31855, tc31856, rtd31865, bmp280; "
        "on registers u16, i16, u32, i32, f32",
        "reference": "absolute or gauge: what the transducer measures against",
        "station_pressure_hpa": "gauge only: hPa at the bench, where there is no barometer",
        "volts_per_count": "V of one count of the converter; adc12 may leave it out",
        "supply_index": "position of the supply's own raw, where the board sends it",
        "supply_v": "V of the transducer's supply, where the board does not send it",
        "zero_fraction": "output at 0 Pa, as a part of the supply",
        "span_fraction": "output over full_scale_pa, as a part of the supply",
        "full_scale_pa": "Pa over which the span is spread",
        "lowest_pa": "Pa absolute below which its maker promises nothing",
        "couple": "K, J or T: type of the thermocouple",
        "reference_ohm": "ohm of the chip's reference resistor",
        "zero_ohm": "ohm of the element at 0 C",
        "cold_channel": "couple on a converter: the channel at its terminals",
        "unit": "registers: Pa, hPa, kPa, mbar, inHg, Torr, degC, degF or K",
        "scale": "registers: the number times this, plus offset, is in that unit",
        "offset": "registers: added after scale",
        "word_order": "registers of 32 bits: high_first or low_first",
        "calibrated_on": "date on which it was compared with something known",
    },
    "signals": {
        "buzzer_pin": "pin (BCM) of a buzzer, through a transistor",
        "lamp_high_pin": "pin of the lamp for alarms that want you now",
        "lamp_medium_pin": "pin of the lamp for those that have some minutes",
        "lamp_low_pin": "pin of the lamp for those that have time",
        "tone_pin": "pin of a small speaker whose tone rises with vacuum",
        "button_pin": "pin of a button or pedal to ground: silences, else the next mark",
    },
    "mqtt": {
        "host": "name or address of the broker",
        "port": "its port; 8883 is usual with a certificate",
        "user": "user name at the broker",
        "password_file": "file that holds the password alone",
        "ca_file": "certificate that vouches for the broker; empty: no encryption",
        "accept_acknowledgements": "whether a phone may acknowledge alarms",
    },
    "socket": {"path": "where the dashboard finds the daemon"},
    "record": {"folder": "where job folders are made"},
}


def meaning(table: str, key: str) -> str:
    """Words for a key of either file; empty for one that neither knows.

    >>> meaning("job", "part")
    'what you are making'
    """
    words = JOB_WORDS.get(table) or BENCH_WORDS.get(table) or {}
    return words.get(key, "")
