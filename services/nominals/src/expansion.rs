//! How much sheet grows with its temperature, by its alloy.

use shared_types::{Expansion, StatedExpansion};

/// Averages from 20 °C to 100 °C in 1e-9 a kelvin. Tempers of one alloy differ by less than the tables do: 2024
/// stands elsewhere with 23.2e-6.
const ALLOYS: [(&str, u32, &str); 9] = [
    ("1100", 23_600, HANDBOOK),
    ("2024", 22_900, HANDBOOK),
    ("3003", 23_220, TYPICAL),
    ("5005", 23_760, TYPICAL),
    ("5052", 23_760, TYPICAL),
    ("5083", 23_760, TYPICAL),
    ("5086", 23_760, TYPICAL),
    ("6061", 23_600, HANDBOOK),
    ("7075", 23_400, HANDBOOK),
];

const HANDBOOK: &str = "Callister, Fundamentals of Materials Science and Engineering, table B.6";
/// 12.9e-6 and 13.2e-6 a °F.
const TYPICAL: &str =
    "typical physical properties of wrought aluminium, 68 °F to 212 °F, as suppliers print them";

/// The coefficient of an alloy as a plan writes it, whatever its temper: `5052-H32`, `2024-T3 Alclad`.
pub(crate) fn of(alloy: &str) -> Option<StatedExpansion> {
    let alloy = alloy.trim().to_ascii_uppercase();
    let alloy = alloy.strip_prefix("EN AW-").unwrap_or(&alloy);
    let end = alloy.find(|c: char| !c.is_ascii_digit());
    let number = &alloy[..end.unwrap_or(alloy.len())];
    let (_, e9, source) = ALLOYS.iter().find(|(name, ..)| *name == number)?;
    Some(StatedExpansion {
        value: Expansion::from_e9(*e9)?,
        source: (*source).to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fahrenheit figures as the tables print them: Callister's table B.6 gives both, rounded to 0.1e-6.
    #[test]
    fn an_alloy_has_the_coefficient_of_the_printed_tables_whatever_its_temper() {
        for (alloy, printed) in [
            ("5052-H32", "13.2e-6 / F"),
            ("3003-H14", "12.9e-6 / F"),
            ("6061-T6", "23.6e-6 / K"),
            ("EN AW-7075-T6", "23.4e-6 / K"),
            ("2024-t3 Alclad", "22.9e-6 / K"),
        ] {
            let printed: Expansion = printed.parse().unwrap();
            assert_eq!(
                of(alloy).map(|stated| stated.value),
                Some(printed),
                "{alloy}"
            );
        }
        for alloy in ["4130", "", "H32", "60610-T6"] {
            assert_eq!(of(alloy), None, "{alloy}");
        }
    }
}
