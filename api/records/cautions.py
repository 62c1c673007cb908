"""The cautions, each once, by number: the texts that pages, certificates, plans and answers show in their places."""

from typing import Final

CAUTIONS: Final[dict[str, str]] = {
    "C-01": "This record says how the scale behaved when tested, to the loads shown. It does not say that a past "
    "patient's weight was right.",
    "C-02": "Whether an error mattered to a patient is a clinical decision. Tell the responsible clinician; this "
    "only computes sizes.",
    "C-03": "Weigh and record in kilograms only. A correct scale does not prevent a wrong entry.",
    "C-04": "The verdict uses the scheme, edition, stage and rule printed beside it. Where law or local code "
    "differs, the law decides. Only licensed or authorised persons may break seals, adjust, or place in "
    "service where the law says so.",
    "C-05": "Not an accredited certificate unless the issuing laboratory's accreditation number is shown.",
    "C-06": "Proven to part of the capacity only. Do not rely on it above.",
    "C-07": "Lifting: follow your own risk assessment; there is no universally safe load. Use a trolley with its "
    "brakes on, wear safety shoes, never leave weights unattended, and take 10 kg pieces or two persons "
    "at floor height or over a bed.",
    "C-08": "Never load above the marked capacity or the safe working load; never test lifts over a person; do "
    "not stand on an infant tray; on beds: brakes on, rails secured, loads restrained.",
    "C-09": "Clean before and after; do not enter isolation without the ward's say; let wet surfaces dry.",
    "C-10": "Electrical safety is a different test (for example IEC 62353); its status is shown separately.",
    "C-11": "Do not enter patient names, numbers or photographs. Text that looks like a person's is kept, shown "
    "on no page, and flagged until somebody has looked.",
    "C-12": "Predictions and dates since when it was out are estimates with the interval shown, not evidence of "
    "the date of failure.",
    "C-13": "Gravity is computed from latitude and height (within about 50 to 100 parts per million) unless measured.",
    "C-14": "Adjusting erases evidence: as found first.",
    "C-15": "This software is a record and calculation aid, validated against the examples listed; check one by "
    "hand at installation and after every upgrade.",
    "C-16": "Published pages are copies made at the moment printed; the service holds the record.",
    "C-17": "Failed: tag it, take it away, tell a person.",
    "C-18": "Test weights, trolley, tools and phone may be magnetic: never into a magnet room or its zone without "
    "its safety officer. Test such scales outside.",
    "C-19": "The bed was zeroed during this visit: weights before and after are not comparable. Tell the nurse in "
    "charge.",
    "C-20": "No patient on, in or beside it during tests, whatever the kind. Unplug before opening; battery "
    "terminals can short; never defeat the earth; only persons licensed for it.",
    "C-21": "Count the pieces out and in: none left in bed, cot, incubator or basket.",
}
ON_CERTIFICATES: Final = ("C-01", "C-04", "C-05")
