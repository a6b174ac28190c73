//! A build directory for a test: an invented bulkhead of the Saltmarsh floats, two gauges and a keypad.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

/// A workshop of its own for one test; gone when dropped.
#[derive(Debug)]
pub struct Workshop {
    dir: TempDir,
}

impl Workshop {
    /// A workshop; `more` is added to its oddleg.toml.
    #[must_use]
    pub fn new(more: &str) -> Self {
        let dir = tempfile::Builder::new()
            .prefix("oddleg-test-")
            .tempdir()
            .unwrap();
        std::fs::create_dir(dir.path().join("parts")).unwrap();
        std::fs::create_dir(dir.path().join("gauges")).unwrap();
        std::fs::write(dir.path().join("oddleg.toml"), format!("{CONFIG}{more}")).unwrap();
        std::fs::write(dir.path().join("parts/B2.toml"), PART).unwrap();
        Self { dir }
    }

    /// A workshop that makes one flat plate: every reading near 286 mm is judged, whatever came before.
    #[must_use]
    pub fn plate(more: &str) -> Self {
        let workshop = Self::new(more);
        std::fs::remove_file(workshop.path().join("parts/B2.toml")).unwrap();
        std::fs::write(workshop.path().join("parts/P1.toml"), PLATE).unwrap();
        workshop
    }

    /// Its build directory.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.dir.path()
    }

    /// The stable name of a gauge's port.
    #[must_use]
    pub fn port(&self, gauge: &str) -> PathBuf {
        self.dir.path().join("gauges").join(gauge)
    }
}

/// Tests lay whatever they look at: first articles have tests of their own, which switch them on.
const CONFIG: &str = r#"
[build]
name = "Saltmarsh floats (invented)"
units = "mm"
general_tolerance = "ISO 2768-1 m"
bend_allowance = "empirical"
first_article = "off"
[bench.bench-1]
title = "Test bench"

[gauge.caliper-1]
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/caliper-1"
unit = "mm"

[gauge.keypad-1]
bench = "bench-1"
via = "typed"
unit = "mm"
"#;

/// Four flanges with room to trim: the part of the README.
const PART: &str = r#"
part = "B2"
title = "Float bulkhead, bay 2"
quantity = 4

[sheet]
alloy = "5052-H32"
thickness = "0.032 in"

[panel]
given = "outside"
width = "286 mm"
height = "171 mm"

[[panel.flange]]
edges = ["left", "right", "top", "bottom"]
formed = "1/2 in"
finished = "3/8 in"
angle = "90 deg"
radius = "1/8 in"

[panel.relief]
diameter = "1/8 in"

[[tolerance]]
of = "formed.height.*"
plus = "1/32 in"
minus = "1/32 in"
"#;

const PLATE: &str = r#"
part = "P1"
title = "Hatch cover"
quantity = 4

[sheet]
alloy = "5052-H32"
thickness = "0.032 in"

[panel]
given = "outside"
width = "286 mm"
height = "171 mm"
"#;
