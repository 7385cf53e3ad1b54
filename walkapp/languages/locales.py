"""How each language writes numbers and days, from the Unicode Common Locale Data Repository (CLDR).

A test compares all of it with the CLDR data that Babel ships. Spanish and Polish group digits from five on
(CLDR, ``minimumGroupingDigits`` 2, from memory: Babel does not read it). Spanish is the one of Spain; where
it is spoken otherwise, numbers are written otherwise, and so Mexico has an entry of its own, with the same
texts.
"""

from __future__ import annotations

from typing import Any

WRITTEN: dict[str, dict[str, Any]] = {
    "de": {
        "name": "Deutsch",
        "decimal_sign": ",",
        "group_sign": ".",
        "digits": "{day}.{month}.{year}",
        "month_digits": "{month}/{year}",
        "weekdays": "Montag Dienstag Mittwoch Donnerstag Freitag Samstag Sonntag",
        "months": "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
        "short_weekdays": "Mo. Di. Mi. Do. Fr. Sa. So.",
        "short_months": "Jan. Feb. März Apr. Mai Juni Juli Aug. Sept. Okt. Nov. Dez.",
        "short_day": "{weekday}, {day}. {month}",
        "short_day_with_year": "{weekday}, {day}. {month} {year}",
        "month_of_year": "{month} {year}",
    },
    "es": {
        "least_grouped": 5,
        "name": "Español",
        "decimal_sign": ",",
        "group_sign": ".",
        "digits": "{day}/{month}/{year}",
        "month_digits": "{month}/{year}",
        "weekdays": "lunes martes miércoles jueves viernes sábado domingo",
        "months": "enero febrero marzo abril mayo junio "
        "julio agosto septiembre octubre noviembre diciembre",
        "short_weekdays": "lun mar mié jue vie sáb dom",
        "short_months": "ene feb mar abr may jun jul ago sept oct nov dic",
        "short_day": "{weekday}, {day} {month}",
        "short_day_with_year": "{weekday}, {day} {month} {year}",
        "month_of_year": "{month} de {year}",
    },
    "es_MX": {
        "name": "Español (México)",
        "decimal_sign": ".",
        "group_sign": ",",
        "digits": "{day}/{month}/{year}",
        "month_digits": "{month}/{year}",
        "weekdays": "lunes martes miércoles jueves viernes sábado domingo",
        "months": "enero febrero marzo abril mayo junio "
        "julio agosto septiembre octubre noviembre diciembre",
        "short_weekdays": "lun mar mié jue vie sáb dom",
        "short_months": "ene feb mar abr may jun jul ago sep oct nov dic",
        "short_day": "{weekday} {day} de {month}",
        "short_day_with_year": "{weekday}, {day} de {month} de {year}",
        "month_of_year": "{month} de {year}",
    },
    "pl": {
        "least_grouped": 5,
        "name": "Polski",
        "decimal_sign": ",",
        "group_sign": "\xa0",
        "digits": "{day}.{month:02}.{year}",
        "month_digits": "{month:02}.{year}",
        "weekdays": "poniedziałek wtorek środa czwartek piątek sobota niedziela",
        "months": "styczeń luty marzec kwiecień maj czerwiec "
        "lipiec sierpień wrzesień październik listopad grudzień",
        "short_weekdays": "pon. wt. śr. czw. pt. sob. niedz.",
        "short_months": "sty lut mar kwi maj cze lip sie wrz paź lis gru",
        "short_day": "{weekday}, {day} {month}",
        "short_day_with_year": "{weekday}, {day} {month} {year}",
        "month_of_year": "{month} {year}",
    },
}
"""What :class:`walkapp.language.Language` is told of each language but English, by code; names of days and
months with blanks between them, Monday and January first."""
