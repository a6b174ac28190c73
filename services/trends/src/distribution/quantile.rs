//! Quantiles by halving: sixty tries at most, and right wherever the tail is.

/// The point x > 0 at which `beyond`, which falls from one to zero, crosses: where it is still true below
/// and no longer above. Halves the ratio, so that small points come out as well as large ones.
pub(crate) fn crossing(beyond: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (1.0_f64, 1.0_f64);
    while low > 0.0 && !beyond(low) {
        high = low;
        low /= 16.0;
    }
    while high < f64::MAX / 16.0 && beyond(high) {
        low = high;
        high *= 16.0;
    }
    if low == 0.0 {
        return 0.0;
    }
    loop {
        let middle = low.sqrt() * high.sqrt();
        if middle <= low || middle >= high || high - low <= low * f64::EPSILON {
            return middle;
        }
        if beyond(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// The quantile of a distribution of positive numbers, by whichever tail is the smaller.
pub(crate) fn positive(
    p: f64,
    q: f64,
    lower: impl Fn(f64) -> f64,
    upper: impl Fn(f64) -> f64,
) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    if q <= 0.0 {
        return f64::INFINITY;
    }
    if p < q {
        crossing(|x| lower(x) < p)
    } else {
        crossing(|x| upper(x) > q)
    }
}

/// The quantile of a distribution that lies evenly about zero.
pub(crate) fn even(p: f64, q: f64, upper: impl Fn(f64) -> f64) -> f64 {
    let tail = p.min(q);
    let size = if tail <= 0.0 {
        f64::INFINITY
    } else if tail >= 0.5 {
        0.0
    } else {
        crossing(|x| upper(x) > tail)
    };
    if p < q { -size } else { size }
}
