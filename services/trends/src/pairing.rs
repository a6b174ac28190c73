//! Which piece goes into which mate: the assignment that makes the worst clearance best.

use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;
use shared_types::Length;

use crate::TrendsError;

const WHAT: &str = "a pairing";

/// Most pieces or mates of one pairing: the work grows with the third power, and a set of floats has twenty.
pub const PAIRING_MAX: usize = 100;

/// Predicted clearances in picometres: a row for each piece, a column for each mate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    rows: Vec<Vec<i64>>,
}

/// Who goes where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pairing {
    /// The mate of each piece; none for a piece too many.
    pub mates: Vec<Option<usize>>,
    /// The smallest clearance of any pair.
    pub worst: Length,
    /// The sum of all clearances, in picometres.
    pub sum_pm: i128,
}

impl Table {
    /// A table of clearances; all rows of one length, neither empty nor beyond [`PAIRING_MAX`].
    ///
    /// # Errors
    /// Says what does not hold.
    pub fn new(rows: &[Vec<Length>]) -> Result<Self, TrendsError> {
        let mates = rows.first().map_or(0, Vec::len);
        for found in [rows.len(), mates] {
            if found == 0 {
                return Err(TrendsError::TooFew {
                    what: WHAT,
                    found,
                    least: 1,
                });
            }
            if found > PAIRING_MAX {
                return Err(TrendsError::TooMany {
                    what: WHAT,
                    found,
                    most: PAIRING_MAX,
                });
            }
        }
        if let Some(row) = rows.iter().find(|row| row.len() != mates) {
            return Err(TrendsError::Uneven {
                what: WHAT,
                found: row.len(),
                expected: mates,
            });
        }
        let pm = |row: &Vec<Length>| row.iter().map(|clearance| clearance.pm()).collect();
        Ok(Self {
            rows: rows.iter().map(pm).collect(),
        })
    }

    /// How many pieces.
    #[must_use]
    pub fn pieces(&self) -> usize {
        self.rows.len()
    }

    /// How many mates.
    #[must_use]
    pub fn mates(&self) -> usize {
        self.rows[0].len()
    }

    /// The clearance of a piece in a mate.
    #[must_use]
    pub fn clearance(&self, piece: usize, mate: usize) -> Option<Length> {
        let pm = self.rows.get(piece)?.get(mate)?;
        Length::from_pm(*pm)
    }

    fn turned(&self) -> Self {
        let column = |mate: usize| self.rows.iter().map(|row| row[mate]).collect();
        Self {
            rows: (0..self.mates()).map(column).collect(),
        }
    }
}

/// The clearance each piece would have in each mate: opening less size, the least of all stations. Each piece and
/// each opening is given by its measured values at the same stations.
///
/// # Errors
/// As [`Table::new`]; also where stations differ in number or are missing.
pub fn clearances(pieces: &[Vec<Length>], openings: &[Vec<Length>]) -> Result<Table, TrendsError> {
    let stations = pieces.first().map_or(0, Vec::len);
    if stations == 0 {
        return Err(TrendsError::TooFew {
            what: WHAT,
            found: 0,
            least: 1,
        });
    }
    let uneven = |measured: &&Vec<Length>| measured.len() != stations;
    if let Some(measured) = pieces.iter().chain(openings).find(uneven) {
        return Err(TrendsError::Uneven {
            what: WHAT,
            found: measured.len(),
            expected: stations,
        });
    }
    let least = |piece: &Vec<Length>, opening: &Vec<Length>| {
        let gaps = piece.iter().zip(opening);
        let gap = gaps.map(|(size, opening)| opening.pm() - size.pm()).min()?;
        Length::from_pm(gap)
    };
    let rows = pieces
        .iter()
        .map(|piece| {
            openings
                .iter()
                .map(|opening| least(piece, opening))
                .collect()
        })
        .collect::<Option<Vec<Vec<Length>>>>()
        .ok_or(TrendsError::TooSpread { what: WHAT })?;
    Table::new(&rows)
}

/// Pairs as many pieces and mates as there are of the fewer, so that the worst clearance is as large as it can
/// be; of all ways to do that, one with the largest sum.
#[must_use]
pub fn pair(table: &Table) -> Pairing {
    // The assignment wants no more rows than columns.
    let mates = if table.pieces() <= table.mates() {
        assign(&table.rows).into_iter().map(Some).collect()
    } else {
        let mut mates = vec![None; table.pieces()];
        for (mate, piece) in assign(&table.turned().rows).into_iter().enumerate() {
            mates[piece] = Some(mate);
        }
        mates
    };
    let pairs = mates.iter().enumerate();
    let found: Vec<i64> = pairs
        .filter_map(|(piece, mate)| mate.map(|mate| table.rows[piece][mate]))
        .collect();
    let worst = found.iter().copied().min().unwrap_or_default();
    Pairing {
        mates,
        worst: Length::from_pm(worst).expect("every clearance in the table is a length"),
        sum_pm: found.iter().map(|pm| i128::from(*pm)).sum(),
    }
}

/// Halves the list of clearances for the largest that all pairs can reach, then the best sum among such.
fn assign(rows: &[Vec<i64>]) -> Vec<usize> {
    let mut steps: Vec<i64> = rows.iter().flatten().copied().collect();
    steps.sort_unstable();
    steps.dedup();
    // All pairs can reach the smallest clearance there is.
    let (mut reached, mut beyond) = (0, steps.len());
    while beyond - reached > 1 {
        let middle = usize::midpoint(reached, beyond);
        let can = |pm: i64| i128::from(pm >= steps[middle]);
        let (paired, _) = kuhn_munkres(&matrix(rows, can));
        if paired == i128::try_from(rows.len()).expect("at most PAIRING_MAX rows") {
            reached = middle;
        } else {
            beyond = middle;
        }
    }
    let least = i128::from(steps[reached]);
    // A pair below the best worst costs more than all others together can bring.
    let most = i128::from(*steps.last().unwrap_or(&0)) - least;
    let forbidden = -(most + 1) * i128::try_from(rows.len()).expect("at most PAIRING_MAX rows");
    let worth = |pm: i64| match i128::from(pm) - least {
        below if below < 0 => forbidden,
        above => above,
    };
    kuhn_munkres(&matrix(rows, worth)).1
}

fn matrix(rows: &[Vec<i64>], worth: impl Fn(i64) -> i128) -> Matrix<i128> {
    let values = rows.iter().flatten().map(|pm| worth(*pm)).collect();
    Matrix::from_vec(rows.len(), rows[0].len(), values).expect("all rows are of one length")
}
