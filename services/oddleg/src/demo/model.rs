//! Gauges that behave like real ones, as pure generators: the same seed gives the same bytes at the same
//! moments. Whole numbers only: positions are hundredths of a millimetre.

/// What a gauge does, and how long after what it did before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// Milliseconds since the step before.
    pub after_ms: u64,
    /// What.
    pub does: Does,
}

/// What a gauge, or the hand at its cable, does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Does {
    /// It sends these bytes.
    Say(Vec<u8>),
    /// Its cable is pulled.
    Unplug,
    /// Its cable is plugged in again.
    Plug,
}

/// How a streaming caliper and the hand that holds it behave.
#[derive(Clone, Copy, Debug)]
pub struct Habits {
    /// Milliseconds between two values.
    pub every_ms: u64,
    /// How far the jaws move between two values, at most.
    pub stride: i64,
    /// How far the last digits tremble while a hand holds it.
    pub tremor: i64,
    /// One value in so many loses a byte on the way; 0 for a good cable.
    pub drops_one_in: u64,
    /// Whether the unit in its lines follows its button; a cheap interface writes mm whatever the display shows.
    pub unit_follows: bool,
}

impl Default for Habits {
    /// Ten values a second, a calm hand, a good cable.
    fn default() -> Self {
        Self {
            every_ms: 100,
            stride: 400,
            tremor: 1,
            drops_one_in: 0,
            unit_follows: true,
        }
    }
}

/// A caliper that streams its value as lines, `+12.34 mm`, and in inches once its button was bumped.
#[derive(Clone, Debug)]
pub struct Caliper {
    habits: Habits,
    chance: u64,
    at: i64,
    inches: bool,
    /// Lines said, whole or not.
    said: u64,
}

impl Caliper {
    /// A caliper with its jaws closed.
    #[must_use]
    pub fn new(habits: Habits, seed: u64) -> Self {
        Self {
            habits,
            chance: seed,
            at: 0,
            inches: false,
            said: 0,
        }
    }

    /// Lines it has said so far.
    #[must_use]
    pub fn said(&self) -> u64 {
        self.said
    }

    /// Its unit button is bumped.
    pub fn bump_unit(&mut self) {
        self.inches = !self.inches;
    }

    /// Its cable loses a byte of one value in so many from now on; 0 for a good cable.
    pub fn drops_one_in(&mut self, one_in: u64) {
        self.habits.drops_one_in = one_in;
    }

    /// The jaws open wide and close on something of `size`: travel, a slower approach, and a bounce off it.
    pub fn closes_on(&mut self, size: i64) -> Vec<Step> {
        let mut steps = self.travels(size + 3 * self.habits.stride);
        let mut left = size + 3 * self.habits.stride - size;
        while left > 1 {
            left /= 2;
            steps.push(self.says(size + left));
        }
        let bounce = self.below(5) + 1;
        steps.push(self.says(size + bounce));
        self.at = size;
        steps
    }

    /// The hand holds it there for so many values.
    pub fn holds(&mut self, values: u32) -> Vec<Step> {
        let size = self.at;
        let steps = (0..values)
            .map(|_| {
                let tremor = self.below(2 * self.habits.tremor + 1) - self.habits.tremor;
                self.says(size + tremor)
            })
            .collect();
        self.at = size;
        steps
    }

    /// The jaws are closed to zero and rest there.
    pub fn closes(&mut self, values: u32) -> Vec<Step> {
        let mut steps = self.travels(0);
        steps.extend((0..values).map(|_| self.says(0)));
        steps
    }

    /// The cable is pulled in the middle of a line, and plugged in again after a while.
    pub fn loses_its_cable(&mut self) -> Vec<Step> {
        let mut cut = self.says(self.at);
        if let Does::Say(line) = &mut cut.does {
            line.truncate(line.len() / 2);
        }
        let step = |after_ms, does| Step { after_ms, does };
        vec![cut, step(1, Does::Unplug), step(1_500, Does::Plug)]
    }

    fn travels(&mut self, to: i64) -> Vec<Step> {
        let mut steps = Vec::new();
        while self.at != to {
            let way = (to - self.at).clamp(-self.habits.stride, self.habits.stride);
            steps.push(self.says(self.at + way));
        }
        steps
    }

    fn says(&mut self, at: i64) -> Step {
        self.at = at;
        self.said += 1;
        let mut line = self.line().into_bytes();
        if self.habits.drops_one_in > 0 && self.next().is_multiple_of(self.habits.drops_one_in) {
            // Not the end of the line: what follows would be one with this.
            let last = i64::try_from(line.len()).unwrap_or(1) - 1;
            if let Ok(lost) = usize::try_from(self.below(last)) {
                line.remove(lost);
            }
        }
        Step {
            after_ms: self.habits.every_ms,
            does: Does::Say(line),
        }
    }

    fn line(&self) -> String {
        let sign = if self.at < 0 { '-' } else { '+' };
        let (digits, places, unit) = if self.inches {
            // An inch is 2540 hundredths; it shows half thousandths: 10000 / 2540 = 500 / 127.
            (self.at.unsigned_abs() * 500 / 127 / 5 * 5, 10_000, "in")
        } else {
            (self.at.unsigned_abs(), 100, "mm")
        };
        let (whole, part) = (digits / places, digits % places);
        let width = if self.inches { 4 } else { 2 };
        let unit = if self.habits.unit_follows { unit } else { "mm" };
        format!("{sign}{whole}.{part:0width$} {unit}\r")
    }

    /// A number below `below`, and not below zero.
    fn below(&mut self, below: i64) -> i64 {
        let below = u64::try_from(below).unwrap_or(0).max(1);
        i64::try_from(self.next() % below).unwrap_or(0)
    }

    /// splitmix64.
    fn next(&mut self) -> u64 {
        self.chance = self.chance.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.chance;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
}

/// A gauge with a send button whose contact bounces: the line comes twice, `apart_ms` apart.
#[must_use]
pub fn bounces(line: &[u8], apart_ms: u64) -> Vec<Step> {
    let step = |after_ms| Step {
        after_ms,
        does: Does::Say(line.to_vec()),
    };
    vec![step(2_000), step(apart_ms)]
}

/// The steps as a capture, for `oddleg replay` and the demo's player.
#[must_use]
pub fn capture(gauge: &str, steps: &[Step]) -> String {
    let mut text = String::new();
    for step in steps {
        text += &crate::capture::wait(step.after_ms);
        text += &match &step.does {
            Does::Say(bytes) => crate::capture::send(gauge, bytes),
            Does::Unplug => format!("unplug  {gauge}\n"),
            Does::Plug => format!("plug  {gauge}\n"),
        };
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(steps: &[Step]) -> Vec<String> {
        let said = steps.iter().filter_map(|step| match &step.does {
            Does::Say(bytes) => Some(String::from_utf8_lossy(bytes).trim_end().to_owned()),
            _ => None,
        });
        said.collect()
    }

    #[test]
    fn a_caliper_opens_closes_on_the_piece_and_trembles_there() {
        let mut caliper = Caliper::new(Habits::default(), 7);
        let closing = lines(&caliper.closes_on(1_234));
        assert_eq!(closing.first().unwrap(), "+4.00 mm");
        assert!(closing.contains(&"+24.34 mm".to_owned()), "{closing:?}");
        let held = lines(&caliper.holds(50));
        for seen in ["+12.33 mm", "+12.34 mm", "+12.35 mm"] {
            assert!(held.contains(&seen.to_owned()), "{held:?}");
        }
        assert!(held.iter().all(|line| line.starts_with("+12.3")));
        // 12.34 mm / 25.4 = 0.48582… in, shown to half thousandths.
        caliper.bump_unit();
        assert!(
            lines(&caliper.holds(20))
                .iter()
                .all(|line| ["+0.4850 in", "+0.4855 in", "+0.4860 in"].contains(&line.as_str()))
        );
        caliper.bump_unit();
        assert_eq!(lines(&caliper.closes(2)).last().unwrap(), "+0.00 mm");
    }

    #[test]
    fn the_same_seed_gives_the_same_bytes() {
        let habits = Habits {
            drops_one_in: 5,
            ..Habits::default()
        };
        let play = |seed| {
            let mut caliper = Caliper::new(habits, seed);
            capture(
                "caliper-2",
                &[caliper.closes_on(1_000), caliper.holds(30)].concat(),
            )
        };
        assert_eq!(play(3), play(3));
        assert_ne!(play(3), play(4));
        // One in five lost a byte.
        let short = play(3)
            .lines()
            .filter(|line| line.contains("send") && !line.contains("mm\\r"))
            .count();
        assert!(short > 0);
    }
}
