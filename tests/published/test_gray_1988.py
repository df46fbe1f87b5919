"""Gray's test of equal incidence.

Data    Liver: T. M. Fleming and D. P. Harrington, Counting Processes and Survival
        Analysis (Wiley 1991), appendix D: the 312 randomised patients with primary
        biliary cirrhosis, days to transplant (1) or death (2), treatment and stage;
        as shipped in the R package survival 3.5-3 (pbc).
        Marrow: L. Scrucca, A. Santucci and F. Aversa, Bone Marrow Transplantation 40
        (2007) 381: 35 patients with leukaemia, as shipped in scikit-survival
        (load_bmt); groups are the two diseases.
        Recipes: whole numbers worked out from the row number, written out below.
Values  R 4.2.2, cmprsk 2.2-11, cuminc (the program of Gray 1988, Annals of Statistics
        16:1141): statistic, p-value and degrees of freedom.
Read    Run 2026-11-27; marrow 2026-11-25.
Digits  1e-9 relative.
"""

import numpy as np
import pytest

from analytics.statistics.gray import gray_test

# day, 0 = alive, 1 = transplant, 2 = death; treatment; stage
LIVER = """
41/2/1/4 51/2/2/4 71/2/1/4 77/2/2/4 110/2/2/4 130/2/2/2 131/2/1/4 140/2/1/3 179/2/1/4
186/2/2/4 191/2/2/4 198/2/1/3 207/2/2/4 216/2/2/4 223/2/1/4 264/2/2/4 264/2/2/4
304/2/2/4 321/2/2/4 326/2/2/3 334/2/1/4 348/2/1/4 388/2/1/4 400/2/1/4 460/2/2/4
515/2/1/3 533/1/1/4 549/2/2/4 552/2/2/4 597/2/2/3 611/2/2/3 673/2/1/4 694/2/1/4
708/2/2/4 732/1/1/3 733/2/2/3 737/1/1/3 750/2/1/4 762/2/1/4 769/2/2/4 786/2/2/4
788/0/2/2 790/2/2/4 797/2/2/4 799/2/1/2 824/2/1/4 837/1/2/4 839/0/1/2 850/2/2/4
853/2/2/2 859/2/2/3 877/1/1/3 890/2/2/4 901/1/1/4 904/2/1/4 930/2/2/4 939/0/1/2
943/2/2/3 971/2/1/4 974/2/2/3 980/2/1/4 994/0/2/2 999/2/1/2 1000/2/1/4 1012/2/1/4
1030/0/2/4 1037/2/1/4 1067/1/2/2 1077/2/1/4 1080/2/2/3 1083/2/1/4 1084/1/2/4 1149/0/2/2
1152/2/1/3 1153/0/1/2 1165/2/2/4 1170/2/1/3 1191/2/1/4 1191/2/1/4 1212/2/2/3 1216/0/2/2
1216/0/2/3 1217/2/2/4 1230/0/1/3 1234/0/1/4 1235/2/1/2 1250/0/2/4 1271/0/1/2 1293/0/1/3
1295/0/2/4 1297/2/1/3 1300/0/2/3 1301/1/2/4 1302/0/1/4 1320/0/2/4 1321/0/2/4 1329/0/2/3
1349/0/1/4 1350/2/1/4 1356/2/2/4 1360/2/1/3 1363/0/1/3 1363/0/2/2 1401/0/1/1 1408/0/1/3
1412/0/1/3 1413/2/2/3 1418/0/2/3 1420/0/2/4 1427/2/2/3 1433/0/2/2 1434/0/2/3 1434/2/1/4
1435/1/1/4 1444/2/2/3 1447/1/1/4 1455/0/2/4 1457/0/1/2 1481/0/1/2 1487/2/2/3 1492/2/1/4
1504/1/2/3 1525/0/1/1 1536/2/2/3 1542/1/2/3 1558/0/2/3 1568/0/1/3 1569/0/2/3 1576/2/1/3
1592/0/1/3 1614/0/1/2 1614/0/1/3 1615/0/2/3 1656/0/2/4 1657/2/1/3 1666/0/2/3 1677/0/2/3
1682/2/1/4 1690/2/1/3 1690/2/1/4 1701/0/1/3 1702/0/1/1 1735/0/2/3 1741/2/1/2 1765/0/1/4
1769/0/2/4 1770/0/1/4 1776/0/2/2 1783/0/1/4 1785/0/2/3 1786/2/2/3 1790/0/2/3 1810/0/1/3
1827/2/1/4 1831/0/1/3 1832/0/2/3 1847/2/2/2 1874/0/2/2 1882/0/1/3 1882/0/2/3 1908/0/1/3
1925/2/1/4 1932/0/1/4 1945/0/1/3 1951/0/1/3 1967/0/2/3 1978/0/2/3 1979/0/2/4 2022/0/1/2
2033/1/1/3 2050/0/2/4 2055/2/1/3 2081/2/1/3 2090/2/2/3 2105/2/1/3 2106/0/2/4 2157/0/2/3
2168/0/1/3 2170/0/1/1 2171/0/1/4 2176/0/2/3 2178/0/1/3 2195/0/2/3 2216/0/2/2 2221/0/2/2
2224/0/2/2 2224/2/1/3 2241/1/2/2 2255/0/1/1 2256/2/1/3 2272/0/1/2 2288/2/1/3 2294/0/2/4
2297/2/1/4 2301/0/2/3 2318/0/2/3 2330/0/1/4 2332/0/1/4 2350/1/1/3 2357/0/2/2 2363/0/1/4
2365/0/1/2 2386/2/1/1 2400/2/1/2 2419/2/2/2 2443/0/1/4 2449/0/1/2 2452/0/2/3 2456/0/2/3
2466/2/2/3 2468/1/2/4 2475/1/1/2 2503/2/2/3 2504/0/1/2 2504/0/2/3 2527/0/1/3 2540/2/1/4
2555/0/1/2 2556/0/1/4 2563/0/2/3 2573/0/2/4 2574/0/1/3 2576/0/2/3 2580/0/1/4 2583/2/1/2
2598/2/1/4 2609/0/2/2 2615/0/2/3 2624/0/2/3 2644/0/1/1 2657/0/1/2 2666/0/2/4 2689/2/1/2
2692/0/1/3 2713/0/2/2 2721/0/2/2 2769/2/2/3 2772/0/2/3 2796/2/2/4 2797/0/2/2 2835/0/2/2
2847/2/2/3 2863/0/1/1 2870/0/1/2 2891/0/2/1 2944/0/1/3 2976/0/2/3 2990/0/1/2 2995/0/1/2
3050/0/1/2 3059/0/1/3 3069/0/1/4 3086/2/1/2 3090/2/2/4 3092/1/2/3 3098/0/1/2 3099/0/1/1
3149/0/2/2 3150/0/1/2 3170/2/2/3 3222/2/1/2 3239/0/1/3 3244/2/2/4 3255/0/2/2 3282/2/1/3
3297/0/1/3 3336/0/1/3 3358/2/2/4 3388/0/2/1 3395/2/2/3 3422/0/2/3 3428/2/2/3 3445/0/2/4
3445/2/2/4 3458/0/1/2 3574/2/1/3 3577/0/2/3 3581/0/2/3 3584/2/1/3 3611/0/2/2 3672/0/2/3
3707/0/1/3 3762/2/2/4 3820/0/2/2 3823/0/1/1 3839/2/2/2 3850/0/1/3 3853/2/2/2 3913/0/1/2
3933/0/1/2 3992/0/1/1 4025/0/2/2 4032/0/2/3 4039/0/1/3 4050/0/1/4 4079/2/1/2 4127/0/2/2
4184/0/2/3 4190/0/2/1 4191/2/1/3 4196/0/2/4 4232/0/1/3 4256/0/2/1 4365/0/1/3 4427/0/2/3
4453/0/2/4 4459/0/1/1 4467/0/1/4 4500/0/1/3 4509/0/2/2 4523/0/2/4 4556/0/1/2
"""
LIVER_TESTS = [
    # grouped by, mode, statistic, p-value, degrees of freedom
    ("treatment", 1, 0.0194274755306, 0.889147916718, 1),
    ("treatment", 2, 0.0665937353607, 0.796362438194, 1),
    ("stage", 1, 1.97268712704, 0.578094902811, 3),
    ("stage", 2, 46.9977802436, 3.47938788892e-10, 3),
]
# Whole years of 365 days: twelve ages for 312 patients.
LIVER_TESTS_IN_YEARS = [
    ("stage", 1, 1.9968648604, 0.573057669389, 3),
    ("stage", 2, 47.973399804, 2.15741757792e-10, 3),
]
# month, 0 = alive in remission, 1 = relapse, 2 = death; of each disease
MARROW = (
    "0/1 0/2 1/1 1/2 3/2 4/2 5/2 7/2 8/2 9/2 12/1 13/2 14/2 22/2 26/2 35/0 72/0",
    "2/0 2/2 3/1 3/1 3/1 4/0 4/1 4/1 7/0 7/2 8/0 8/1 10/2 32/0 35/0 67/0 68/0 70/0",
)
MARROW_TESTS = [
    (1, 1.30163454362, 0.253914871158),
    (2, 7.08227802511, 0.00778499801497),
]


def counted(age, mode, group, asked):
    """Return the arguments of the test, a row per unit."""
    age, mode = np.asarray(age, float), np.asarray(mode)[:, None]
    member = np.asarray(group)[:, None] == np.unique(group)
    return (
        age,
        member * (mode == asked),
        member * ((mode > 0) & (mode != asked)),
        member * (mode == 0),
    )


def found(*rows):
    test = gray_test(*counted(*rows))
    return test.statistic, test.p_value, test.degrees_of_freedom


def liver():
    return np.array([list(map(int, row.split("/"))) for row in LIVER.split()]).T


@pytest.mark.parametrize(("by", "mode", "statistic", "p_value", "freedom"), LIVER_TESTS)
def test_liver_patients_by_treatment_and_stage(by, mode, statistic, p_value, freedom):
    day, status, treatment, stage = liver()

    assert len(day) == 312
    assert found(
        day, status, treatment if by == "treatment" else stage, mode
    ) == pytest.approx((statistic, p_value, freedom), rel=1e-9)


@pytest.mark.parametrize(
    ("by", "mode", "statistic", "p_value", "freedom"), LIVER_TESTS_IN_YEARS
)
def test_many_ties_in_whole_years(by, mode, statistic, p_value, freedom):
    day, status, _, stage = liver()

    assert by == "stage"
    assert found(day // 365, status, stage, mode) == pytest.approx(
        (statistic, p_value, freedom), rel=1e-9
    )


@pytest.mark.parametrize(("mode", "statistic", "p_value"), MARROW_TESTS)
def test_marrow_patients_by_disease(mode, statistic, p_value):
    month, status, disease = np.array(
        [
            (*map(int, row.split("/")), disease)
            for disease, rows in enumerate(MARROW)
            for row in rows.split()
        ]
    ).T

    assert found(month, status, disease, mode) == pytest.approx(
        (statistic, p_value, 1), rel=1e-9
    )


# rows, then age, mode and group of row i
RECIPES = {
    "three groups": (
        120,
        lambda i: ((i * i * 7 + i * 13) % 97, (i * 5 + i // 7) % 3, i % 3),
    ),
    "three groups, later and later": (
        120,
        lambda i: (
            (i * i * 7 + i * 13) % 97 * (1 + i % 3 / 4),
            (i * 5 + i // 7) % 3,
            i % 3,
        ),
    ),
    "five groups": (
        200,
        lambda i: ((i * i * 7 + i * 13) % 997, (i * 5 + i // 7) % 4 % 3, i % 5),
    ),
    "heavy ties": (
        90,
        lambda i: (1 + (i * i + 3 * i) % 6, (i * 5 + i // 7) % 3, i // 5 % 2),
    ),
    "four groups, heavy ties": (
        250,
        lambda i: (
            (i * i * 3 + i) % 11 // (1 + i % 4),
            (i * 7 + i // 9) % 5 % 3,
            i % 4,
        ),
    ),
}
RECIPE_TESTS = [
    ("three groups", 1, 1.62549644545, 0.443637175584, 2),
    ("three groups", 2, 0.952604178191, 0.621075833669, 2),
    ("three groups, later and later", 1, 3.71925121756, 0.155730923746, 2),
    ("three groups, later and later", 2, 0.420806992279, 0.810257244333, 2),
    ("five groups", 1, 0.256494603467, 0.992446736792, 4),
    ("five groups", 2, 0.220604498103, 0.994346069617, 4),
    ("heavy ties", 1, 0.062103523769, 0.803201604023, 1),
    ("heavy ties", 2, 0.0380369408339, 0.845368980399, 1),
    ("four groups, heavy ties", 1, 24.5233391852, 1.9421789868e-05, 3),
    ("four groups, heavy ties", 2, 8.63413836218, 0.0345722625252, 3),
]


@pytest.mark.parametrize(
    ("recipe", "mode", "statistic", "p_value", "freedom"), RECIPE_TESTS
)
def test_recipes(recipe, mode, statistic, p_value, freedom):
    n, rows = RECIPES[recipe]

    assert found(*rows(np.arange(n)), mode) == pytest.approx(
        (statistic, p_value, freedom), rel=1e-9
    )
