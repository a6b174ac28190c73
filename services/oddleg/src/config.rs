//! A build directory as a person writes it: `oddleg.toml` and `parts/*.toml`. Everything is read and
//! checked before anything is opened or bound, and every mistake is told at once.

mod climate;
mod delay;
mod gauge;
mod listen;
mod mqtt;
mod parts;
mod pedal;
mod sensor;
mod trust;
mod uncertainty;

use std::collections::{BTreeMap, BTreeSet};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use intake::mqtt::Sensor;
use nominals::form::{self, Table};
use nominals::general::GeneralTolerance;
use nominals::{AllowanceRule, BuildRules};
use shared_types::{
    BenchId, Climate, DisplayUnits, FirstArticle, GaugeSetup, Mistake, PartPlan, Rule, SensorId,
    Setup,
};

pub use gauge::{Door, Gauge, Serial, Taking};
pub use listen::Listen;
pub use mqtt::Mqtt;
pub use pedal::Pedal;

/// The name of the configuration in a build directory.
pub const CONFIG_FILE: &str = "oddleg.toml";

/// Where the screen is served when the configuration does not say: on this machine only.
const LISTEN_DEFAULT: &str = "127.0.0.1:8377";

/// More mating pieces than a part has are never asked for, so a larger number says nothing more.
const FIRST_ARTICLE_MATES_MAX: i64 = 1000;

/// A build, checked.
#[derive(Clone, Debug)]
pub struct Build {
    /// Its directory.
    pub dir: PathBuf,
    /// Its name.
    pub name: String,
    /// Units shown first.
    pub units: DisplayUnits,
    /// How readings are judged where a part file does not say otherwise.
    pub decision: Rule,
    /// What is asked of first articles.
    pub first_article: FirstArticle,
    /// Where the screen is served.
    pub listen: SocketAddr,
    /// Further host names the screen may be opened by.
    pub hosts: Vec<String>,
    /// Benches with their titles, in the order of the file.
    pub benches: Vec<(BenchId, String)>,
    /// Gauges, in the order of the file.
    pub gauges: Vec<Gauge>,
    /// Pedals that ask gauges.
    pub pedals: Vec<Pedal>,
    /// The broker, where there is one.
    pub mqtt: Option<Mqtt>,
    /// Our own door for bridges and lamps, where there is one.
    pub far_end: Option<Listen>,
    /// Thermometers that speak over MQTT.
    pub sensors: BTreeMap<SensorId, Sensor>,
    /// How temperatures are used.
    pub climate: Climate,
    /// Parts, by name.
    pub parts: Vec<Arc<PartPlan>>,
}

/// What is wrong with a build directory.
#[derive(Debug, thiserror::Error)]
pub enum BuildError {
    /// Mistakes in its files, all of them.
    #[error("{}", list(.0))]
    Mistakes(Vec<Mistake>),
    /// There is no configuration to read.
    #[error("reading {path}: {source}; expected a build directory with an oddleg.toml in it")]
    Unreadable {
        /// The file.
        path: String,
        /// Why.
        source: std::io::Error,
    },
}

fn list(mistakes: &[Mistake]) -> String {
    let lines: Vec<String> = mistakes.iter().map(ToString::to_string).collect();
    let count = lines.len();
    let word = if count == 1 { "mistake" } else { "mistakes" };
    format!("{}\n{count} {word}; nothing was opened", lines.join("\n"))
}

impl Build {
    /// Reads and checks a build directory.
    ///
    /// # Errors
    /// Every mistake in every file, or the file that cannot be read.
    pub fn read(dir: &Path) -> Result<Self, BuildError> {
        let path = dir.join(CONFIG_FILE);
        let text = std::fs::read_to_string(&path).map_err(|source| BuildError::Unreadable {
            path: path.display().to_string(),
            source,
        })?;
        let mut mistakes = Vec::new();
        let written = form::read(CONFIG_FILE, &text, |root| walk(dir, root));
        // With a mistake in the rules the parts are still read, by the usual rules, so that theirs are told too.
        let rules = match &written {
            Ok((_, rules)) => *rules,
            Err(wrong) => {
                mistakes.extend(wrong.iter().cloned());
                BuildRules {
                    general: GeneralTolerance::Medium,
                    allowance: AllowanceRule::Empirical,
                }
            }
        };
        let plans = parts::read(dir, &rules, &mut mistakes);
        match written {
            Ok((build, _)) if mistakes.is_empty() => Ok(Self {
                parts: plans,
                ..build
            }),
            _ => Err(BuildError::Mistakes(mistakes)),
        }
    }

    /// The configuration as the history keeps it.
    #[must_use]
    pub fn setup(&self) -> Setup {
        Setup {
            build: self.name.clone(),
            units: self.units,
            first_article: self.first_article,
            benches: self.benches.clone(),
            gauges: self
                .gauges
                .iter()
                .map(|gauge| GaugeSetup {
                    id: gauge.id.clone(),
                    title: gauge.title.clone(),
                    bench: gauge.bench.clone(),
                    kind: gauge.kind,
                    serial_number: gauge.serial_number.clone(),
                    trust: gauge.trust.clone(),
                })
                .collect(),
            climate: self.climate,
            decision: self.decision,
        }
    }
}

fn walk(dir: &Path, root: &Table<'_>) -> Option<(Build, BuildRules)> {
    root.only(&[
        "build",
        "http",
        "bench",
        "gauge",
        "pedal",
        "mqtt",
        "temperature",
        "sensor",
    ]);
    let build = root.need("build").table();
    let named = build.as_ref().and_then(walk_build);
    let http = root.may("http").table();
    let served = walk_http(root, http.as_ref());
    let benches = walk_benches(root);
    let known: BTreeSet<BenchId> = benches.iter().map(|(id, _)| id.clone()).collect();
    let gauges = gauge::walk(dir, root, &known);
    // With a mistake in a gauge it cannot be said which gauges there are.
    let pedals = gauges
        .as_deref()
        .and_then(|gauges| pedal::walk(dir, root, gauges));
    if let Some(gauges) = &gauges {
        uncertainty::check(root, gauges);
    }
    let sensors = sensor::walk(root, &known);
    let names = sensor::names(sensors.as_ref());
    let over_mqtt = root.may("mqtt").table();
    let mqtt = match &over_mqtt {
        Some(table) => mqtt::walk(dir, table, gauges.as_deref(), names.as_ref()),
        // Written but no table: the walker has told so.
        None => (!root.has("mqtt")).then_some((None, None)),
    };
    if let (Some(gauges), Some((broker, listen))) = (&gauges, &mqtt) {
        for (name, table) in root.may("gauge").named_tables() {
            let Some(gauge) = gauges.iter().find(|gauge| gauge.id.as_str() == name) else {
                continue;
            };
            if let Some(wrong) = unheard(gauge, broker.is_some(), listen.as_ref()) {
                table.wrong("via", wrong);
            }
        }
    }
    if let Some((broker, listen)) = &mqtt {
        sensor::check(root, gauges.as_deref(), broker.is_some(), listen.as_ref());
    }
    let climate = climate::walk(root);
    let (name, units, decision, first_article, rules) = named?;
    let (listen, hosts) = served?;
    let (mqtt, far_end) = mqtt?;
    let build = Build {
        dir: dir.to_path_buf(),
        name,
        units,
        decision,
        first_article,
        listen,
        hosts,
        benches,
        gauges: gauges?,
        pedals: pedals?,
        mqtt,
        far_end,
        climate: climate?,
        sensors: sensors?,
        parts: Vec::new(),
    };
    Some((build, rules))
}

/// Why nothing would ever be heard of a gauge.
fn unheard(gauge: &Gauge, broker: bool, listen: Option<&Listen>) -> Option<&'static str> {
    if !gauge.door.is_mqtt() || broker {
        return None;
    }
    let Some(listen) = listen else {
        return Some("found \"mqtt\" but no [mqtt] table, expected one with `broker` or `listen`");
    };
    let mut clients = listen.clients.iter();
    (!clients.any(|client| client.gauges.contains(&gauge.id))).then_some(
        "no [mqtt.client] may speak for this gauge, expected one of its name or with it in `gauges`",
    )
}

fn walk_build(table: &Table<'_>) -> Option<(String, DisplayUnits, Rule, FirstArticle, BuildRules)> {
    table.only(&[
        "name",
        "units",
        "general_tolerance",
        "bend_allowance",
        "decision",
        "first_article",
        "first_article_mates",
    ]);
    let name = table.need("name").text();
    let units = table.need("units").word(&[
        ("mm", DisplayUnits::Mm),
        ("in", DisplayUnits::In),
        ("in-fractions", DisplayUnits::InFractions),
    ]);
    let general = table
        .need("general_tolerance")
        .parsed::<GeneralTolerance>("a general tolerance such as \"ISO 2768-1 m\" (f, m, c or v)");
    let allowance = table.need("bend_allowance").parsed::<AllowanceRule>(
        "\"empirical\" (FAA-H-8083-31), \"din-6935\", \"t/2\" or a K-factor such as \"k 0.44\"",
    );
    let decision = if table.has("decision") {
        table
            .may("decision")
            .parsed::<Rule>("\"plain\", \"guarded\", \"guarded 97.5 %\" or \"ratio 4\"")
    } else {
        Some(Rule::Plain)
    };
    let first = first_article(table);
    Some((
        name?,
        units?,
        decision?,
        first?,
        BuildRules {
            general: general?,
            allowance: allowance?,
        },
    ))
}

/// Whether other pieces of a part wait for its first article, and in how many mating pieces that one is tried.
fn first_article(table: &Table<'_>) -> Option<FirstArticle> {
    let usual = FirstArticle::default();
    let required = if table.has("first_article") {
        table
            .may("first_article")
            .word(&[("required", true), ("off", false)])
    } else {
        Some(usual.required)
    };
    let mates = if table.has("first_article_mates") {
        let mates = table
            .may("first_article_mates")
            .integer(0..=FIRST_ARTICLE_MATES_MAX);
        mates.and_then(|mates| u32::try_from(mates).ok())
    } else {
        Some(usual.mates)
    };
    Some(FirstArticle {
        required: required?,
        mates: mates?,
    })
}

fn walk_http(root: &Table<'_>, table: Option<&Table<'_>>) -> Option<(SocketAddr, Vec<String>)> {
    let default = LISTEN_DEFAULT
        .parse()
        .expect("the default address is an address");
    let Some(table) = table else {
        // Written but no table: the walker has told so.
        return (!root.has("http")).then_some((default, Vec::new()));
    };
    table.only(&["listen", "hosts"]);
    let listen = if table.has("listen") {
        let text = table.may("listen").text();
        text.and_then(|text| {
            let expected = "an address and port such as \"127.0.0.1:8377\"";
            let parsed = text.parse::<SocketAddr>();
            parsed
                .map_err(|_| table.wrong("listen", format!("found {text:?}, expected {expected}")))
                .ok()
        })
    } else {
        Some(default)
    };
    let hosts = table.may("hosts").texts().unwrap_or_default();
    Some((listen?, hosts.into_iter().map(|(host, _)| host).collect()))
}

fn walk_benches(root: &Table<'_>) -> Vec<(BenchId, String)> {
    let mut benches = Vec::new();
    for (name, table) in root.need("bench").named_tables() {
        table.only(&["title"]);
        let title = table.may("title").text();
        match BenchId::new(name) {
            Ok(id) => benches.push((id, title.unwrap_or_else(|| name.to_owned()))),
            Err(wrong) => table.wrong_here(format!("found bench {name:?}, {wrong}")),
        }
    }
    benches
}
