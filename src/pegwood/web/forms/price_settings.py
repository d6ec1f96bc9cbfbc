"""What the workshop reckons a price with: rates, minimum, what is used up, what every job takes."""

from __future__ import annotations

from pegwood.pricing.spread import SHAPES
from pegwood.web.forms.fields import MoneyField
from pegwood.web.forms.settings_form import SomeSettingsForm, number, one_of

LABELS = {
    "bench_per_hour": "The bench, an hour",
    "own_per_hour": "An hour costs you",
    "minimum_charge": "The least a job costs",
    "consumables": "Used up, each job",
    "consumables_per_mend": "Used up, each mend",
    "part_markup": "On top of a part's cost, %",
    "risk_margin": "On top for a fixed price, %",
    "job_minutes_low": "At the least, minutes",
    "job_minutes_likely": "Usually, minutes",
    "job_minutes_high": "At the most, minutes",
    "price_shape": "How they spread",
    "price_covers": "Covers what is likely from, %",
    "price_step": "Told in steps of",
}
TOLD = {
    "bench_per_hour": "rent, light, tools: on top of your hourly rate; empty adds nothing",
    "own_per_hour": "without tax; empty: as much as you charge",
    "minimum_charge": "empty sets none",
    "consumables": "cleaners, oil and the like",
    "consumables_per_mend": "on top of that",
    "part_markup": "0 charges what it cost",
    "risk_margin": "on the average job",
    "job_minutes_low": "",
    "job_minutes_likely": "",
    "job_minutes_high": "",
    "price_covers": "what else turns up is told before it is done; 0 covers all there may be",
    "price_shape": "It moves a price more than anything else: leave it if you are not sure.",
    "price_step": "such as 1.00: prices are rounded to it, upwards but for the usual one",
}


class PriceSettingsForm(SomeSettingsForm):
    """The settings of a price that is reckoned."""

    labels, told = LABELS, TOLD

    bench_per_hour = MoneyField()
    own_per_hour = MoneyField()
    minimum_charge = MoneyField()
    consumables = MoneyField()
    consumables_per_mend = MoneyField()
    part_markup = number("part_markup")
    risk_margin = number("risk_margin")
    job_minutes_low = number("job_minutes_low", 1)
    job_minutes_likely = number("job_minutes_likely", 1)
    job_minutes_high = number("job_minutes_high", 1)
    price_shape = one_of(*SHAPES)
    price_covers = number("price_covers")
    price_step = MoneyField(
        required=True, error_messages={"required": "In which steps are prices told? Write a sum, such as 1."}
    )
