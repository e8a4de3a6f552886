"""What the trade holds: every limit by which ground, readings and closures are judged, with its unit and its source.

Measures of the drawing stand in `sheet/`. A limit that nobody has printed is marked `common practice, no source`; it
says at what figure we begin to doubt, and a party may know better.
"""

from __future__ import annotations

import math
from functools import cache

from traverse.record import record

# --- paces, bearings, slopes --------------------------------------------------------------------------------

SINGLE_PACE_M = (0.4, 1.2)
"""Shortest and longest step that a grown person walks, metres; common practice, no source."""
DOUBLE_PACE_M = (1.0, 2.2)
"""The same of two steps, metres; common practice, no source."""
APART_COUNT_SPREADS = 4.0
"""A count of a pace course that lies farther from the others than so many times what they differ by is asked about;
common practice, no source."""
APART_COUNT_SHARE = 0.1
"""And farther than this share of them; common practice, no source."""
STEEP_TO_PACE_DEG = 35.0
"""Steeper than this nobody paces, degrees; the figure was probably read in per cent. Common practice, no source."""
LARGE_DECLINATION_DEG = 30.0
"""A larger declination is found near the poles only, degrees; common practice, no source."""
OLD_DECLINATION_YEARS = 5
"""A declination without its yearly change is good for so long, years; common practice, no source."""
MODEL_DECLINATION_DEG = 1.0
"""A stated declination farther from the model than this is asked about, degrees; common practice, no source."""
DOUBTED_DECLINATION = 9.0
"""As a chi-square, a declination that the model contradicts counts no more than this against itself: the chart may know of
iron that the model does not; common practice, no source."""
REVERSED_DEG = 150.0
"""Fore and back that differ by more are a bearing read at the wrong end, not iron or another slip, degrees; common practice,
no source."""
IRON_MOST_DEG = 20.0
"""Iron that a party walks by unseen turns a compass no farther, degrees; more is a slip. Common practice, no source."""
IRON_TAKEN_DEG = 5.0
"""Beyond this a correction for iron is asked about and not taken, degrees; common practice, no source."""
BACK_AGREES_DEG = 5.0
"""Fore and back bearings that differ by more do not agree in a report, degrees; common practice, no source."""
CLEAR_OF_EACH_OTHER = 5.0
"""Readings so many standard deviations of a bearing apart can't be taken for each other; common practice, no
source."""
SHORT_SIGHT_M = 15.0
"""A sight shorter than this is no better than its two ends, metres; common practice, no source."""
LEAST_SET_DEG, MOST_SET_DEG = 3.0, 40.0
"""Angles that a compass may be set apart by and that no loop would pass over, degrees; common practice, no source."""
LETTER_CLEAN_DEG = 30.0
"""A letter nearer than this to a perpendicular of the strike is clean, degrees; common practice, no source."""
LETTER_REFUSED_DEG = 60.0
"""A letter farther than this from both perpendiculars says nothing of the side, degrees; common practice, no
source."""

# --- what a figure may be: wider than any page, narrow enough that nothing worked out from it runs over ---------

LEAST_DISTANCE, MOST_DISTANCE = 0.001, 100_000.0
"""Shortest and longest leg or place along one, paces, metres or feet; common practice, no source."""
LEAST_PACE_M, MOST_PACE_M = 0.05, 20.0
"""Shortest and longest pace, single or double, metres; common practice, no source."""
MOST_GRADE = 1000.0
"""Steepest slope in per cent, some 84 degrees; common practice, no source."""
MOST_HEIGHT_M = 12_000.0
"""No ground lies higher above the sea or deeper below it, metres. Source: the heights of the highest mountain and the
deepest trench, from memory, with a tenth more."""
MOST_BAND_M = 1_000.0
"""Farthest that rock is told by eye to either side of a walk, metres; common practice, no source."""
LEAST_WITHIN, MOST_WITHIN_M, MOST_WITHIN_DEG = 0.001, 100_000.0, 90.0
"""Least and most that stands after ±, metres and degrees; common practice, no source."""

# --- closing ------------------------------------------------------------------------------------------------

PLAN_WARN, PLAN_REFUSE = 5.99, 9.21
"""A misclosure in plan by chi-square with 2 degrees of freedom: 95 % a warning, 99 % not adjusted, no unit. Source:
Pearson and Hartley, Biometrika Tables for Statisticians, table 8, from memory."""
UP_WARN, UP_REFUSE = 3.84, 6.63
"""A misclosure in height by chi-square with 1 degree of freedom, 95 and 99 %, no unit. Source: the same table, from
memory."""
SPACE_REFUSE = 11.34
"""A misclosure in plan and height together by chi-square with 3 degrees of freedom, 99 %, no unit. Source: the same
table, from memory."""
ELLIPSE_95 = math.sqrt(PLAN_WARN)
"""Half-axes of the ellipse that holds 95 % of a plane normal distribution, in standard deviations. Source: the same
table."""
LUCKY = 0.0201
"""Chi-square with 2 degrees of freedom that one good loop in a hundred stays below, no unit. Source: -2 ln 0.99."""
SHORT_LOOP_M = 100.0
"""A loop shorter than this may well close to nothing, metres; common practice, no source."""
ONE_IN_A_HUNDRED = 2.326
"""Standardised normal that one in a hundred exceeds, no unit. Source: any table of the normal distribution."""
ONE_IN_A_THOUSAND = 3.09
"""Standardised normal that one in a thousand exceeds, no unit. Source: any table of the normal distribution."""
OUTLYING = 3.29
"""Standardised residual that one good reading in a thousand exceeds. Source: any table of the normal distribution."""
MIRRORED = PLAN_REFUSE
"""By how much a mirrored fit must be better, as a chi-square. Source: that of 99 % in plan."""
ACCUSED = 0.008
"""Share of logs without a slip in which a reading is accused all the same, if its readings scatter as stated; with what
rounding to whole degrees and paces adds it is one in a hundred. Common practice, no source."""
ALL_ACCUSED, PLAIN_ACCUSED = 0.0025, 2.807
"""What of it all circuits at once take, where there are several, and the standardised normal that so many exceed. Source:
any table of the normal distribution."""
RARE_SLIP = 2.4
"""Added to the rank of a slip less common than the rest: twice the logarithm of how much less; common practice, no
source."""
COMMON_SLIP = 4.6
"""Taken from the rank of a slip of the one declination, E for W or the wrong north, which is commoner than any one slip
of any one leg: twice the logarithm of ten; common practice, no source."""
UNCOMMON_SLIP = 6.0
"""The same of one of many that a figure may have suffered, such as any one digit misread: twice the logarithm of some
twenty; common practice, no source."""
FACTOR_SLIP = ((10.0, RARE_SLIP), (100.0, UNCOMMON_SLIP))
"""Factors by which a decimal point or a nought puts a figure out, and how rare; common practice, no source."""
LEG_FIGURES = (1.0, 1000.0)
"""Least and most that one leg is counted or taped at, paces or metres; common practice, no source."""
UNLIKELIER = 9.21
"""Twice the logarithm by which a suspect may be less likely than the first and still be named: a hundred to one;
common practice, no source."""
ALONE = 4.6
"""Twice the logarithm by which a suspect, or two together, must be likelier than others to stand before them: ten to one;
common practice, no source."""
SECOND_SLIP = 9.21
"""Added to the rank of two slips together: a second one in a circuit is a hundred times rarer; common practice, no
source."""
MOST_LEFT = 0.75
"""Share of a gap beyond which a reading leaves it as it was, and explains nothing; common practice, no source."""
MENDS_LEAST = 3.84
"""A suspect mends something where the chi-square falls by this at least. Source: that of 95 % with 1 degree of
freedom."""
BACK_BEARING_MOST = 12.0
"""A back bearing counts for no more than this chi-square for or against a fore bearing: it may itself be misread.
Common practice, no source."""
STEEPER_SLIP = 6.0
"""A slope counts for no more than this for or against a slip by how steep it is beside the others of the log: twice the
logarithm of twenty; common practice, no source."""
SLOPES_LEAST_DEG = 4.0
"""Slopes of a log scatter by this at least, degrees; common practice, no source."""
ANY_ANGLE = 6.0
"""Added to the rank of an angle that only the closure names: twice the logarithm of some twenty that could be told
apart; common practice, no source."""
ELEVATION_SD_M = 5.0
"""Standard deviation of a height that was read without ±, metres; common practice, no source."""
DRIFT_MOST_M_AN_HOUR = 20.0
"""The air seldom makes an altimeter drift by more in an hour, metres; more is a figure misread or an altimeter set anew.
Common practice, no source."""
DRIFT_SD_M_AN_HOUR = 6.0
"""Standard deviation of what the air does to an altimeter from one reading to the next, metres an hour: a third of the most.
Common practice, no source."""
ALTIMETER_SET_M = 30.0
"""Standard deviation of how an altimeter is set in the morning, metres; common practice, no source."""
UNMEASURED_SLOPE_DEG = 15.0
"""Standard deviation of a slope that nobody read, where heights were read along the way, degrees; common practice, no
source."""
POOR_CROSSING_DEG, NO_CROSSING_DEG = 30.0, 5.0
"""Sights that cross at less than the first give a poor place, at less than the second none, degrees; common practice,
no source."""
GROSS_SIGHT = 10.0
"""A sight that is off by more of its standard errors takes no part; common practice, no source."""


def shared_limits(tests: int, share: float) -> tuple[float, float]:
    """Chi-square in plan and in height that one of so many tests exceeds in this share of good logs.

    Source: C. E. Bonferroni's inequality, any text on several tests at once.
    """
    from statistics import NormalDist

    each = share / tests
    return -2.0 * math.log(each), NormalDist().inv_cdf(1.0 - each / 2.0) ** 2


@record(frozen=True, slots=True, kw_only=True)
class ClosingLimits:
    """Chi-square from which a closure is told, and from which it is not adjusted, in plan and in height."""

    warn: float
    refuse: float
    warn_up: float
    refuse_up: float


@cache
def closing_limits(tests: int = 1) -> ClosingLimits:
    """Limits of one of so many tests: of all of them together 95 and 99 good logs in 100 stay below.

    >>> closing_limits().refuse, round(closing_limits(64).refuse, 1)
    (9.21, 17.5)
    """
    if tests == 1:
        return ClosingLimits(warn=PLAN_WARN, refuse=PLAN_REFUSE, warn_up=UP_WARN, refuse_up=UP_REFUSE)
    (warn, warn_up), (refuse, refuse_up) = shared_limits(tests, 0.05), shared_limits(tests, 0.01)
    return ClosingLimits(warn=warn, refuse=refuse, warn_up=warn_up, refuse_up=refuse_up)


def chi_square_limit(freedom: int, normal: float = 1.645) -> float:
    """Value that chi-square stays below as a normal variate does below `normal`: 95 times in 100, if not told otherwise.

    >>> round(chi_square_limit(10), 1), round(chi_square_limit(10, ONE_IN_A_HUNDRED), 1)
    (18.3, 23.2)

    Source: E. B. Wilson and M. M. Hilferty (1931), PNAS 17, 684: the cube root of chi-square is nearly normal.
    """
    part = 2.0 / (9.0 * freedom)
    return freedom * (1.0 - part + normal * math.sqrt(part)) ** 3


# --- readings -----------------------------------------------------------------------------------------------

PRINTS_LEVEL_DEG = 0.5
"""A dip or plunge below this prints as 0 and is drawn level, degrees. Source: rounding to whole degrees."""
PRINTS_UPRIGHT_DEG = 89.5
"""A dip or plunge from this on prints as 90 and is drawn vertical, degrees. Source: rounding to whole degrees."""
LEVEL_DEG = 3.0
"""Beds, planes and ground that dip less have no side to dip to and no strike to run along, degrees; common practice,
no source."""
NEARLY_FLAT_DEG = 5.0
"""Beds that dip no more are said to lie flat, degrees; common practice, no source."""
STANDING_DEG = 87.0
"""Steeper beds stand for vertical ones, degrees; common practice, no source."""
REPEAT_DEG = 20.0
"""Readings of one surface farther than this from their mean are worth a look, degrees; common practice, no source."""
ALIKE_DEG = 20.0
"""Beds next to each other whose poles or dips differ by no more agree, degrees; common practice, no source."""
STATED_FREEDOM = 8.0
"""The precision that a log states, for attitudes or for paces, counts as much as the scatter of so many independent
readings, and is drawn toward what the readings of one plane, or the walks over one course, scatter; common practice, no
source."""
ODD_BED_DEG = 40.0
"""A bed that differs by more from both neighbours, which agree, is asked about, degrees; common practice, no
source."""
OFF_AROUND_DEG = 10.0
"""A bed is told as off those around it, which agree, from here on, degrees; common practice, no source."""
OFF_AROUND_SD = 4.0
"""And from so many standard deviations of their scatter, or its own, on: one good pole in 3,000 lies farther off. Source:
Rayleigh's distribution, exp(-16/2)."""
TWO_MORE_CHI_SQUARE = 4.0
"""By how much a chi-square must fall for two more figures to be worth fitting. Source: H. Akaike (1974), IEEE Transactions on
Automatic Control 19, 716, from memory."""
SLIP_CHI_SQUARE = 20.0
"""Twice the logarithm of how much likelier a slip must make a reading: e^10 = 22 000 times, which leaves 20 to 1 after
some 1000 to 1 against this slip at this reading. Source of the 20 to 1, strong evidence: Kass and Raftery (1995), Bayes
factors, J. Am. Stat. Assoc. 90, 773-795, from memory; of the odds: common practice, no source."""
FORESET_DEG = 15.0
"""A bed in cross-bedded rock that differs by more from its neighbours may be a foreset, degrees; common practice, no
source."""
REPOSE_DEG = 34.0
"""Loose sand stands no steeper, degrees; common practice, no source."""
TILTED_DEG = 5.0
"""Bedding that dips no more needs no correction for what lies in it, degrees; common practice, no source."""
PLUNGING_DEG = 20.0
"""A fold axis that plunges more is made level first, degrees; common practice, no source."""
UNEVEN_SHARE = 0.1
"""Half-way along a leg the ground lies off the straight line between its ends by this share of what a leg so long rises at
the usual slope of the walk, as a standard deviation; no unit. On waves of length w and root mean square slope g the ground
lies l/2 from either end of a leg of length l off its chord by about pi/4 g l²/w (curvature by l²/8): a tenth of g l for
80 m on waves of 600 m. The figures of both: common practice, no source."""
SLIPPED_DEG = 10.0
"""A bed that dips within this of the slope below it may have come down with it, degrees; common practice, no
source."""
SLIPPED_WAY_DEG = 45.0
"""And dips no farther off the way down than this, degrees; common practice, no source."""
OFFSET_SHARE = 0.1
"""Standard error of a distance beside the walk, which is guessed or paced off once, as a share of it; common practice,
no source."""
FLOAT_SLOPE_DEG = 2.0
"""On gentler ground nothing says which way loose rock moved, degrees; common practice, no source."""
ALONG_FAULT_DEG = 60.0
"""A side named within this of the other side of a fault is that side, nearer to its strike it is neither, degrees; common
practice, no source."""
CROSSED_DEG = 15.0
"""A leg that makes a smaller angle with a plane than this runs along it and does not cross it, degrees; common practice, no
source."""
LEG_ON_BED_DEG = 5.0
"""A leg nearer to the bed than this does not say what lies above what, degrees; common practice, no source."""

# --- folds and panels ---------------------------------------------------------------------------------------

FOLD_BEDS = 5
"""Fewer beds than this do not determine an axis; common practice, no source."""
FOLD_SPREAD_DEG = 30.0
"""Nor do beds of which no two are this far apart, degrees; common practice, no source."""
GIRDLE_SHAPE = 1.0
"""Logarithm of the first eigenvalue of the poles over the second, in that of the second over the third: a girdle below
this, a cluster above. Source: Woodcock (1977), Geol. Soc. Am. Bull. 88, 1231-1236, from memory."""
GIRDLE_RMS_DEG = 10.0
"""Poles farther than this from their best girdle turn about no one line, degrees: two thirds of what beds of one panel
may differ by. Common practice, no source."""
UNSTATED_ATTITUDE_DEG = 4.0
"""Where a log does not say what its attitudes are good to, their own scatter is believed up to this, degrees: what a learner
repeats a dip to. Common practice, no source."""
BED_ROUGH_DEG = 2.0
"""What bedding undulates by within an arm's reach, one standard deviation, degrees; common practice, no source."""
AXIS_SD_DEG = 5.0
"""An axis whose standard error is larger is not told: two of them are the 10 degrees that an axis is read to, degrees;
common practice, no source."""
CONE_F = 11.3
"""Ratio of the F test by which poles lie on a small circle, not on a great one: 1 and 8 degrees of freedom, 1 %. Source:
Pearson and Hartley, Biometrika Tables for Statisticians, table 18, from memory."""
CONE_ALONE_F = 5.32
"""Ratio of the same test at 5 %: where it is no more without one of the readings, that one alone makes the circle. Source:
Pearson and Hartley, Biometrika Tables for Statisticians, table 18, from memory."""
CONE_DEG = 5.0
"""A small circle nearer to a great one than this may be called one, degrees; common practice, no source."""
DOME_DEG = 30.0
"""A small circle farther from a great one than this is a dome's, whose beds dip no more than 60 degrees off its axis,
degrees; common practice, no source."""
CONE_BEDS = 8
"""Fewer beds do not tell a small circle from a great one; common practice, no source."""
SURE_SD = 3.0
"""A dip is taken for a dip, and a side for a side, from so many standard deviations on: one good reading in 370 lies
farther off. Source: any table of the normal distribution."""
SURE_POLE_SD = 3.44
"""The same for a pole, which may be off two ways, in standard deviations of one of them: one good reading in 370 lies farther
off. Source: sqrt(2 ln 370), Rayleigh's distribution."""
FOLDED_DEG = 20.0
"""Beds of one unit or stretch that differ by more lie on two limbs, and no one plane stands for them, degrees; common
practice, no source."""
LIMB_DEG = 30.0
"""Beds next to each other that differ by more lie on two limbs, degrees; common practice, no source."""
PANEL_DEG = 15.0
"""Dips that change by less are one panel, degrees; common practice, no source."""
DOMAIN_DEG = 5.0
"""Dips that differ by less are one domain of a section, degrees; common practice, no source."""
ONE_PLANE_DEG = 1.0
"""Planes at the two ends of a thickness nearer than this are one, degrees; common practice, no source."""
GROUND_SLOPE = 0.3
"""Aside of a walk whose heights are known the ground is taken to rise or fall by no more than this for each metre; common
practice, no source."""
GENTLE_DEG = 10.0
"""Beds that dip less scatter so widely in strike that only their mean is worth a sentence, degrees; common practice,
no source."""
STEEPENS = 0.8
"""Correlation of dip with distance from which a panel is said to steepen; common practice, no source."""
ALL_ROUND_DEG = 120.0
"""Beds dip all round where no gap between their bearings from the middle is wider, degrees; common practice, no
source."""
INTERLIMB_DEG = (120.0, 70.0, 30.0)
"""Angles between limbs above which a fold is gentle, open, close; below the last tight, degrees. Source: Fleuty
(1964), The description of folds, from memory."""
ONE_LINE_ACROSS = 0.2
"""Share of its breadth across the strike within which beds lie on one line across a fold, so that none tells whether it closes along its
axis; common practice, no source."""
DENSITY_READINGS = 20
"""Fewer readings make contours of chance; common practice, no source."""
DENSITY_KAPPA = 100.0
"""Concentration with which a reading counts about itself on the net. It spreads by 81° / sqrt(100) = 8°: more than
the 2 to 3° that a reading is good to and the 5° that one panel scatters, so that a panel makes one hill; less than
half the 20° by which two limbs differ, so that they make two. Source of the distribution: Fisher, Lewis and Embleton
(1987), Statistical Analysis of Spherical Data, from memory; of the width: common practice, no source."""
ROSE_READINGS = 30
"""From so many currents on the classes of a rose are 20 degrees wide, below it 30; common practice, no source."""

# --- contacts and the ground --------------------------------------------------------------------------------

BAND_M = 20.0
"""Half the width of the ground that a walk looks at, and how deep below it is known, where the log does not say,
metres; common practice, no source."""
BAND_LEAST_SHARE, BAND_MOST_SHARE = 0.025, 0.05
"""Half of that width is no less and no more than these shares of the way between the farthest places of the walk, so that
it is neither a thread nor a blot on a map of all of it; common practice, no source."""
SIDE_BAND_SHARE = 0.7
"""Along a shot to the side, which nobody walked, that width is this share of it; common practice, no source."""
WALKED_SHARE = 0.125
"""A walk over one unit shorter than this share of half the band does not count against another beside it; common
practice, no source."""
IN_ONE_UNIT_SHARE = 0.375
"""A contact may run so far, over half the band, between ground of one unit: a hand draws no bend for less; common
practice, no source."""
APPROXIMATE_SD_M, INFERRED_SD_M = 5.0, 10.0
"""Standard deviation along the walk of an approximate and of an inferred contact whose line gives no ±, metres; common
practice, no source."""
BESIDE_SLOPE_DEG = 20.0
"""Ground beside the walk, whose height nobody took, lies as much above or below it as such a slope makes, one standard
deviation, degrees; common practice, no source."""
HEIGHT_BETWEEN_M = 3.0
"""Heights of the ground between two arms of a walk are no better, metres; common practice, no source."""
ONE_CONTACT_M = 5.0
"""Two lines of one contact nearer together than this are one, metres; common practice, no source."""
COURSE_BEYOND = 2.5
"""A stream or a path is drawn on beyond the ground looked at by so many times half its width: it was seen there, not
walked. Common practice, no source."""
CAP_DEG = 10.0
"""Beds no steeper than this may lie over others as a cap, degrees; common practice, no source."""
DISCORDANT_DEG = 10.0
"""Beds above and below a contact that differ by more do not belong together, degrees; common practice, no source."""
UNEVEN_DEG = 15.0
"""A surface of erosion between its two outcrops may lie so far off its dip at either, degrees; common practice, no
source."""
WALKED_SLOPE_DEG = 15.0
"""Ground as steep as beds are may bring a unit out again; steeper ground is seldom walked, degrees. Common practice,
no source."""
OUTLIER_BED_DEG, OUTLIER_MEAN_DEG, OUTLIER_SD_DEG = 10.0, 5.0, 5.0
"""How far the dip of a bed, and the mean of all, may lie off the plane through both borders, and the most that they
scatter, and still keep their dip, degrees: readings good to 2 degrees do; common practice, no source."""
OUTLIER_RISE = 0.02
"""The ground stands out of that plane by this share of the width, which a degree of slope does not explain; common
practice, no source."""
REACH_M = 300.0
"""No plane of a contact and no trace of a fold is carried farther over the ground than this, metres; common practice,
no source."""
REACH_BED_M = 150.0
"""A contact without a plane of its own has that of the nearest bed, no farther off than this, metres; common
practice, no source."""
JOINED_DEG, JOINED_MOST_DEG = 10.0, 15.0
"""The planes at two places of one contact agree within this, and within the second however poor they are, degrees;
common practice, no source."""
JOIN_GENTLE_DEG = 10.0
"""Where the ground between is unknown, a plane that dips less says too little of where it comes out, degrees; common
practice, no source."""
FACES_ALIKE_DEG = 45.0
"""A contact whose plane is within this of the overturned bed beside it is overturned as well, degrees; common practice, no
source."""
AT_END_M = 5.0
"""Ground walked on so near to an end of a join, or within twice its error, is that of the end, metres; common
practice, no source."""
WINDING = 3.0
"""An outcrop longer than this many times the straight way is not what joins two places; common practice, no
source."""
OTHER_DIP_DEG = 10.0
"""A bed whose pole is farther off stands for another dip; a plane ends half-way to it, degrees; common practice, no
source."""
JUMP_M = 100.0
"""Heights of a grid next to each other that lie less apart may be a cliff, metres; common practice, no source."""
JUMP_SLOPE = 6.0
"""Nor is ground over a whole step of a grid steeper than this rise over its run, some 80°; common practice, no source."""
SPIKE_SLOPE = 3.0
"""As above, where a crossing stands above all round it, or below all of them: a top or a hole of one crossing, some 70°
on every side; common practice, no source."""
HEIGHT_SD_SHARE = 0.1
"""Standard error of a height over the grid's spacing, 1 m at least; common practice, no source."""
COURSE_SD_DEG = 5.0
"""Standard error of an attitude that is carried from one place of a contact to the next, with the roll of the beds between,
degrees; common practice, no source."""
POLE_SD_DEG = 3.0
"""Standard error of an attitude that is carried over the ground, degrees; common practice, no source."""
TRACE_LOST_DEG = 30.0
"""How a plane comes out on ground that slopes is not known where its standard error is larger: it may cross the walk either
way, degrees; common practice, no source."""
TRACE_KNOWN_DEG = 15.0
"""It is known where its standard error is no larger, degrees: 19 of 20 are then within some 30; common practice, no source."""
STRIKE_LOST_DEG = 20.0
"""A strike whose standard error is larger is no direction in which a contact is carried, degrees; common practice, no
source."""
OFF_ASKED_M = 1.0
"""A place that lies nearer to the plane of its contact is not asked about, however small the errors are said to be: a step,
metres; common practice, no source."""
STRIKE_SLIP_DEG = 6.0
"""A straight line along a strike may pass by a second place at this angle: about two standard errors of a measured
strike, degrees; common practice, no source."""
THIN_TRIANGLE = 0.15
"""Places whose width is less than this share of their length leave the plane open; common practice, no source."""
OUTLYING_PLACE = 3.0
"""A place of a contact farther off the plane of the others than so many of its standard errors is named; common practice,
no source."""
PLACE_LEAST_SD_M = 0.1
"""No contact is sharper than this, however well its place is known, metres; common practice, no source."""
PLANE_SD_DEG = 5.0
"""A plane through places whose pole is less sure than this is not carried on, degrees; common practice, no source."""

# --- sections -----------------------------------------------------------------------------------------------

ALONG_STRIKE_DEG = 30.0
"""A section nearer to a strike shows little of the dip, and nothing is carried to it along that strike, degrees;
common practice, no source."""
ONE_STRIKE_DEG = 10.0
"""Beds that all lie within this of their mean plane, or three of their own errors, have one strike that what lies aside of
a section is carried along, degrees; common practice, no source."""
ALONG_ONE_STRIKE_DEG = 5.0
"""A section nearer to the one strike of all its beds has nothing carried to it along that, degrees: places are unsure on
one hardly farther off, but none overtakes another; common practice, no source."""
SQUARE_TO_STRIKE_DEG = 5.0
"""On a section that lies square to the one strike within this, what is carried square comes out where it lies, degrees;
common practice, no source."""
NEARER_SHARE = 0.5
"""Ground seen within this share of how far a contact was carried to a section tells against it; common practice, no
source."""
AGREE_SHARE = 0.67
"""Ground of a section between arms of a walk is of a unit where so much of what was carried there says so, nearer ground
counting more; common practice, no source."""
SIDE_BANDS = 2.0
"""A contact carried square over more than so many bands of ground, along whose strike the section runs, is not drawn;
common practice, no source."""
ALONG_WALL_DEG = 10.0
"""The same of the walls of an intrusive body, which run on straight where beds bend, degrees; common practice, no source."""
SEEN_OF_BODY_M = 2.0
"""Of an intrusive body so much is drawn behind a wall, or about a place in it, whose other wall was not met, metres;
common practice, no source."""
BEYOND_M = 0.5
"""Points farther than this beyond the ends of a section are left out, metres; common practice, no source."""
FAR_SHARE = 0.5
"""A reading carried farther than this share of the section takes no part; common practice, no source."""
DASHED_SHARE = 0.25
"""A reading carried farther than this share of the section is drawn dashed; common practice, no source."""
OVERHANG_SHARE = 0.05
"""Share of its length by which a line that names no ends goes on beyond the walk; common practice, no source."""
DEEP_M = 500.0
"""Deeper than this nothing is guessed at unless the log asks for it, metres; common practice, no source."""
ONE_LINE_SHARE, ONE_LINE_M = 0.05, 20.0
"""One contact met twice within this share of the section, or within so many metres, is one line; common practice, no
source."""
ONE_LINE_SAID_SHARE = 0.15
"""One contact met twice on the same side within this share is one line, and is said to be; common practice, no
source."""
BORDER_SHARE = 0.06
"""A border of the ground and the outcrop of a contact of its two units are one within this share of the section; common
practice, no source."""
SEEN_SHARE = 0.04
"""A unit narrower on the ground than this share of the depth that was looked at tells nothing of what lies under it;
common practice, no source."""
DISAGREE_SHARE = 0.25
"""Two units, each wider than this share of that depth, on ground that no line parts: lines and ground disagree, and what
was seen stands; common practice, no source."""
GUESS_SHARE = 0.5
"""Under ground whose height may be off by more than this share of that depth, square to the beds, nothing is coloured; common
practice, no source."""
LENS_DEPTH_SHARE, LENS_WIDTH_SHARE = 0.3, 0.25
"""Loose ground, whose base nobody saw, is drawn as deep as this share of that depth or of its own width, whichever is
less; common practice, no source."""
AS_READ_M = 20.0
"""So far a bed is drawn as it was read where no arc is possible, metres; common practice, no source."""

# --- holding a log against a key ----------------------------------------------------------------------------

STRIKE_TOLD_DIP_DEG = 15.0
"""The strike of a flatter bed is not judged by itself, degrees: it scatters by 1 over the sine of the dip. Common
practice, no source."""
UPSIDE_DEG = 120.0
"""Dip directions farther apart than this are the wrong side, degrees; common practice, no source."""
CAUSE_PLACE_M, CAUSE_PLACE_SHARE = 2.5, 0.01
"""Half of what two careful parties come to differ by at one station, metres, and share of the way walked to it; common
practice, no source."""
SAME_CROSSING_M = 10.0
"""A contact of two units that was booked elsewhere, no farther than this from a leg that comes from one into the other, is
where that leg crosses it, metres; common practice, no source."""
CAUSE_LEG_M, CAUSE_LEG_SHARE = 0.8, 0.02
"""The same of one leg, metres at least, and share of its length along it; common practice, no source."""
CAUSE_MOST = 25.0
"""One difference says no more for or against a cause than this chi-square; common practice, no source."""
CAUSE_LEAST = 20.0
"""A cause must take so much chi-square away, no unit; common practice, no source."""
CAUSE_SHARE = 0.25
"""And this share of all that there is; common practice, no source."""
CAUSE_BETTER, CAUSE_FEWEST = 3.0, 3
"""A cause mends so many differences for each that it makes worse, and so many at least; common practice, no source."""
LEG_APART = 3.0
"""A leg so many of its standard errors off the key's is another leg, no unit; common practice, no source."""
LEG_APART_M = 4.0
"""But none that is off by less than this, metres; common practice, no source."""
WAY_APART = 18.4
"""Chi-square, two degrees of freedom, from which on a way of several legs between two stops is not the key's: one sound way
in ten thousand is. Source: exp(-q / 2), any table of chi-square."""
COMPASSES_APART_DEG = 1.0
"""By so much two sound compasses differ, degrees, one standard deviation; common practice, no source."""
MOST_CAUSES = 4
"""More causes than this in one log are no longer causes; common practice, no source."""
SAME_OUTCROP_DEG = 8.0
"""Attitudes of two parties at one outcrop nearer than this are one plane, degrees between poles; common practice, no
source."""
