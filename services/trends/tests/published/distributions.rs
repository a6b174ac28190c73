//! Tails and quantiles against mpmath and scipy.

use trends::distribution::{ChiSquared, Distribution, Fisher, Normal, Student};

use crate::data;
use crate::digits;

#[test]
fn both_tails_and_the_quantiles_of_all_four_are_right_however_small() {
    let text = data::text("distributions.txt");
    let mut worst = Vec::new();
    let mut seen = 0;
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        let words: Vec<&str> = line.split_whitespace().collect();
        let [name, freedom, first, second, third] = words[..] else {
            panic!("{line}");
        };
        let number = |word: &str| word.parse::<f64>().expect(line);
        let of: Box<dyn Distribution> = match name {
            "normal" => Box::new(Normal),
            "student" => Box::new(Student {
                freedom: number(freedom),
            }),
            "chi" => Box::new(ChiSquared {
                freedom: number(freedom),
            }),
            "fisher" => {
                let (over, under) = freedom.split_once('/').expect(line);
                Box::new(Fisher {
                    over: number(over),
                    under: number(under),
                })
            }
            _ => panic!("{line}"),
        };
        let found = if first == "q" {
            digits(of.upper_quantile(number(second)), number(third))
        } else {
            let x = number(first);
            digits(of.lower(x), number(second)).min(digits(of.upper(x), number(third)))
        };
        seen += 1;
        worst.push((found, line.to_owned()));
    }
    assert_eq!(seen, 599);
    worst.sort_by(|a, b| a.0.total_cmp(&b.0));
    println!("{:#?}", &worst[..8]);
    assert!(worst[0].0 > 12.0, "{:#?}", &worst[..8]);
}

#[test]
fn a_quantile_below_is_a_quantile_above_the_rest() {
    let t = Student { freedom: 7.0 };
    assert_eq!(t.quantile(0.25), t.upper_quantile(0.75));
    assert_eq!(t.quantile(0.5), 0.0);
    assert_eq!(Normal.quantile(0.0), f64::NEG_INFINITY);
    let chi = ChiSquared { freedom: 3.0 };
    assert_eq!(chi.quantile(0.0), 0.0);
    assert_eq!(chi.upper_quantile(0.0), f64::INFINITY);
    assert_eq!(chi.quantile(0.25), chi.upper_quantile(0.75));
    let many = Student {
        freedom: f64::INFINITY,
    };
    assert_eq!(many.upper(1.5), Normal.upper(1.5));
}
