"""The published limits of weight classes, in their documents' order and numbers. Data only; see `weight_classes`.

A cell without a unit is in milligrams; an empty cell means that the class has no such weight. How far each number can
be relied on stands beside its table: of these documents only copies of R 111 Table 1 were read, the rest is memory.
A value that has been read in the document replaces a remembered one here, and its `Standing` line with it.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Standing:
    """How far some limits of a table can be relied on: the words, and which nominal values and classes they cover."""

    words: str
    least: str = "0 mg"
    most: str = "5000 kg"
    classes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ClassTable:
    """One printed table: its document, its classes as column heads, its rows as text, and what it rests on.

    Of the standings the last one that covers a limit holds; no classes means all of them.
    """

    source: str
    classes: tuple[str, ...]
    rows: str
    standings: tuple[Standing, ...]


HIGH: Final = "from memory, high confidence"
MEDIUM: Final = "from memory, medium confidence"
LOW: Final = "from memory, low confidence"

R111_TABLE_1: Final = ClassTable(
    source="OIML R 111-1:2004 Table 1",
    classes=("E1", "E2", "F1", "F2", "M1", "M1-2", "M2", "M2-3", "M3"),
    rows="""
        5 000 kg |       |       | 25 000 | 80 000 | 250 000 | 500 000 | 800 000 | 1 600 000 | 2 500 000
        2 000 kg |       |       | 10 000 | 30 000 | 100 000 | 200 000 | 300 000 |   600 000 | 1 000 000
        1 000 kg |       | 1 600 |  5 000 | 16 000 |  50 000 | 100 000 | 160 000 |   300 000 |   500 000
          500 kg |       |   800 |  2 500 |  8 000 |  25 000 |  50 000 |  80 000 |   160 000 |   250 000
          200 kg |       |   300 |  1 000 |  3 000 |  10 000 |  20 000 |  30 000 |    60 000 |   100 000
          100 kg |       |   160 |    500 |  1 600 |   5 000 |  10 000 |  16 000 |    30 000 |    50 000
           50 kg |    25 |    80 |    250 |    800 |   2 500 |   5 000 |   8 000 |    16 000 |    25 000
           20 kg |    10 |    30 |    100 |    300 |   1 000 |         |   3 000 |           |    10 000
           10 kg |   5.0 |    16 |     50 |    160 |     500 |         |   1 600 |           |     5 000
            5 kg |   2.5 |   8.0 |     25 |     80 |     250 |         |     800 |           |     2 500
            2 kg |   1.0 |   3.0 |     10 |     30 |     100 |         |     300 |           |     1 000
            1 kg |   0.5 |   1.6 |    5.0 |     16 |      50 |         |     160 |           |       500
           500 g |  0.25 |   0.8 |    2.5 |    8.0 |      25 |         |      80 |           |       250
           200 g |  0.10 |   0.3 |    1.0 |    3.0 |      10 |         |      30 |           |       100
           100 g |  0.05 |  0.16 |    0.5 |    1.6 |     5.0 |         |      16 |           |        50
            50 g |  0.03 |  0.10 |    0.3 |    1.0 |     3.0 |         |      10 |           |        30
            20 g | 0.025 |  0.08 |   0.25 |    0.8 |     2.5 |         |     8.0 |           |        25
            10 g | 0.020 |  0.06 |   0.20 |    0.6 |     2.0 |         |     6.0 |           |        20
             5 g | 0.016 |  0.05 |   0.16 |    0.5 |     1.6 |         |     5.0 |           |        16
             2 g | 0.012 |  0.04 |   0.12 |    0.4 |     1.2 |         |     4.0 |           |        12
             1 g | 0.010 |  0.03 |   0.10 |    0.3 |     1.0 |         |     3.0 |           |        10
          500 mg | 0.008 | 0.025 |   0.08 |   0.25 |     0.8 |         |     2.5 |           |
          200 mg | 0.006 | 0.020 |   0.06 |   0.20 |     0.6 |         |     2.0 |           |
          100 mg | 0.005 | 0.016 |   0.05 |   0.16 |     0.5 |         |     1.6 |           |
           50 mg | 0.004 | 0.012 |   0.04 |   0.12 |     0.4 |         |         |           |
           20 mg | 0.003 | 0.010 |   0.03 |   0.10 |     0.3 |         |         |           |
           10 mg | 0.003 | 0.008 |  0.025 |   0.08 |    0.25 |         |         |           |
            5 mg | 0.003 | 0.006 |  0.020 |   0.06 |    0.20 |         |         |           |
            2 mg | 0.003 | 0.006 |  0.020 |   0.06 |    0.20 |         |         |           |
            1 mg | 0.003 | 0.006 |  0.020 |   0.06 |    0.20 |         |         |           |
    """,
    standings=(
        Standing(HIGH),
        Standing(f"{HIGH}; compared with a second-hand copy of the table", "1 mg", "5 kg"),
        Standing(
            f"{HIGH}; compared with a second-hand extract of the table",
            "2000 kg", "5000 kg", ("F1", "F2", "M1", "M1-2", "M2"),
        ),
    ),
)  # fmt: skip

E617_METRIC: Final = ClassTable(
    source="ASTM E617-23 maximum permissible errors, metric",
    classes=("E617-0", "E617-1", "E617-2", "E617-3", "E617-4", "E617-5", "E617-6", "E617-7"),
    rows="""
        50 kg |    63 |   125 |   250 |  500 | 1.0 g | 2.5 g | 5.0 g | 7.5 g
        25 kg |    31 |    62 |   125 |  250 |   500 | 1.2 g | 2.5 g | 4.5 g
        20 kg |    25 |    50 |   100 |  200 |   400 | 1.0 g | 2.0 g | 3.8 g
        10 kg |    13 |    25 |    50 |  100 |   200 |   500 | 1.0 g | 2.2 g
         5 kg |   6.0 |    12 |    25 |   50 |   100 |   250 |   500 | 1.4 g
         2 kg |   2.5 |   5.0 |    10 |   20 |    40 |   100 |   200 |   750
         1 kg |   1.3 |   2.5 |   5.0 |   10 |    20 |    50 |   100 |   470
        500 g |  0.60 |   1.2 |   2.5 |  5.0 |    10 |    30 |    50 |   300
        200 g |  0.25 |  0.50 |   1.0 |  2.0 |   4.0 |    15 |    20 |   160
        100 g |  0.13 |  0.25 |  0.50 |  1.0 |   2.0 |     9 |    10 |   100
         50 g | 0.060 |  0.12 |  0.25 | 0.60 |   1.2 |   5.6 |     7 |    62
         20 g | 0.037 | 0.074 |  0.10 | 0.35 |  0.70 |   3.0 |     3 |    33
         10 g | 0.025 | 0.050 | 0.074 | 0.25 |  0.50 |   2.0 |     2 |    21
          5 g | 0.017 | 0.034 | 0.054 | 0.18 |  0.36 |   1.3 |     2 |    13
          3 g | 0.017 | 0.034 | 0.054 | 0.15 |  0.30 |  0.95 |     2 |   9.4
          2 g | 0.017 | 0.034 | 0.054 | 0.13 |  0.26 |  0.75 |     2 |   7.0
          1 g | 0.017 | 0.034 | 0.054 | 0.10 |  0.20 |  0.50 |     2 |   4.5
       500 mg | 0.005 | 0.010 | 0.025 | 0.080 | 0.16 |  0.38 |     1 |   3.0
       300 mg | 0.005 | 0.010 | 0.025 | 0.070 | 0.14 |  0.30 |     1 |   2.2
       200 mg | 0.005 | 0.010 | 0.025 | 0.060 | 0.12 |  0.26 |     1 |   1.8
       100 mg | 0.005 | 0.010 | 0.025 | 0.050 | 0.10 |  0.20 |     1 |   1.2
        50 mg | 0.005 | 0.010 | 0.014 | 0.042 | 0.085 | 0.16 |       |
        30 mg | 0.005 | 0.010 | 0.014 | 0.038 | 0.075 | 0.14 |       |
        20 mg | 0.005 | 0.010 | 0.014 | 0.035 | 0.070 | 0.12 |       |
        10 mg | 0.005 | 0.010 | 0.014 | 0.030 | 0.060 | 0.10 |       |
    """,
    standings=(
        Standing(HIGH),
        Standing(MEDIUM, "10 g", "500 g"),
        Standing(MEDIUM, "25 kg", "25 kg", ("E617-1", "E617-5")),
        Standing(MEDIUM, classes=("E617-0", "E617-7")),
        Standing(LOW, "50 kg", "50 kg", ("E617-7",)),
        Standing(LOW, "10 mg", "5 g"),
    ),
)

# Each class's fixed proportion (20 and so on in a million) rounded to two digits, which agrees with what is remembered.
E617_AVOIRDUPOIS: Final = ClassTable(
    source="ASTM E617-23 maximum permissible errors, avoirdupois",
    classes=("E617-6", "E617-5", "E617-4", "E617-3"),
    rows="""
        1 000 lb |  45 g |  23 g | 9.1 g | 4.5 g
          500 lb |  23 g |  11 g | 4.5 g | 2.3 g
          100 lb | 4.5 g | 2.3 g |   910 |   450
           50 lb | 2.3 g | 1.1 g |   450 |   230
           30 lb | 1.4 g |   680 |   270 |   140
           25 lb | 1.1 g |   570 |   230 |   110
           20 lb |   910 |   450 |   180 |    91
           10 lb |   450 |   230 |    91 |    45
            5 lb |   230 |   110 |    45 |    23
            3 lb |   140 |    68 |    27 |    14
            2 lb |    91 |    45 |    18 |   9.1
            1 lb |    45 |    23 |   9.1 |   4.5
    """,
    standings=(Standing(f"computed from the proportion of the class, two digits; {MEDIUM}"),),
)

CLASS_F_METRIC: Final = ClassTable(
    source="NIST Handbook 105-1 (1990, 2019) class F, metric",
    classes=("F",),
    rows="""
        50 kg | 5.0 g
        25 kg | 2.5 g
        20 kg | 2.0 g
        10 kg | 1.0 g
         5 kg |   500
         3 kg |   300
         2 kg |   200
         1 kg |   100
        500 g |    70
        300 g |    60
        200 g |    40
        100 g |    20
         50 g |    10
         30 g |   6.0
         20 g |   4.0
         10 g |   2.0
          5 g |   1.5
          3 g |   1.3
          2 g |   1.1
          1 g |  0.90
    """,
    standings=(Standing(HIGH), Standing(MEDIUM, "1 g", "500 g")),
)

CLASS_F_AVOIRDUPOIS: Final = ClassTable(
    source="NIST Handbook 105-1 (1990, 2019) class F, avoirdupois",
    classes=("F",),
    rows="""
        1 000 lb |  45 g
          500 lb |  23 g
          100 lb | 4.5 g
           50 lb | 2.3 g
           30 lb | 1.4 g
           25 lb | 1.1 g
           20 lb |   910
           10 lb |   450
            5 lb |   230
            3 lb |   140
            2 lb |    91
            1 lb |    70
            8 oz |    45
            4 oz |    23
            2 oz |    11
            1 oz |   5.4
    """,
    standings=(Standing(HIGH), Standing(MEDIUM, "1 oz", "1 lb")),
)

TABLES: Final = (R111_TABLE_1, E617_METRIC, E617_AVOIRDUPOIS, CLASS_F_METRIC, CLASS_F_AVOIRDUPOIS)
