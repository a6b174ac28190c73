//! What ranges and standard deviations of normal samples are on average.

/// Largest subgroup whose range is charted: beyond ten the range throws most of its readings away and the
/// standard deviation is as easily had.
pub const RANGE_SIZE_MAX: usize = 10;

/// d2 and d3, mean and standard deviation of the range of n standard normal values, n from 2 to 25: integrals
/// computed with numpy 2 and scipy's ndtr; a test computes them again.
const RANGE: [(f64, f64); 24] = [
    (std::f64::consts::FRAC_2_SQRT_PI, 0.852_502_466_4),
    (1.692_568_750_6, 0.888_368_004_0),
    (2.058_750_746_0, 0.879_808_202_8),
    (2.325_928_947_3, 0.864_081_941_1),
    (2.534_412_721_2, 0.848_039_686_1),
    (2.704_356_751_2, 0.833_205_335_6),
    (2.847_200_612_1, 0.819_831_489_8),
    (2.970_026_324_4, 0.807_834_274_5),
    (3.077_505_461_7, 0.797_050_673_5),
    (3.172_872_703_8, 0.787_314_620_5),
    (3.258_455_279_7, 0.778_478_341_2),
    (3.335_980_354_1, 0.770_416_202_1),
    (3.406_763_108_2, 0.763_023_095_6),
    (3.471_826_889_9, 0.756_211_429_7),
    (3.531_982_786_1, 0.749_908_089_4),
    (3.587_883_961_8, 0.744_051_784_0),
    (3.640_063_757_9, 0.738_590_853_4),
    (3.688_963_023_2, 0.733_481_495_5),
    (3.734_950_119_6, 0.728_686_345_7),
    (3.778_335_829_8, 0.724_173_340_7),
    (3.819_384_643_4, 0.719_914_808_4),
    (3.858_323_423_3, 0.715_886_735_5),
    (3.895_348_148_5, 0.712_068_175_1),
    (3.930_629_219_5, 0.708_440_765_9),
];

/// d2 and d3 of the range of a sample of 2 to 25.
#[must_use]
pub fn range_constants(size: usize) -> Option<(f64, f64)> {
    RANGE.get(size.checked_sub(2)?).copied()
}

/// c4, the mean standard deviation of samples of `size` (two or more) from a population of which it is 1:
/// √(2/(n−1)) Γ(n/2)/Γ((n−1)/2).
#[must_use]
pub fn c4(size: usize) -> f64 {
    // g(n) = Γ(n/2)/Γ((n−1)/2): g(2) = 1/√π and g(n+1) = ((n−1)/2)/g(n), without a gamma function.
    let first = 1.0 / std::f64::consts::PI.sqrt();
    let ratio = (3..=size).fold(first, |before, n| (n - 2) as f64 / 2.0 / before);
    ratio * (2.0 / (size.max(2) - 1) as f64).sqrt()
}
