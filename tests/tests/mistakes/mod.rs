//! Mistakes in the files a person writes, and every word that must be said of them.

use super::{CONFIG, PART};

/// Changes to a sound build, each `(file, what, instead)`, and what must be said of them.
pub(crate) type Case = (
    &'static [(&'static str, &'static str, &'static str)],
    &'static [&'static str],
);

/// A slip of the pen or two of every kind.
pub(crate) const MISTAKES: &[Case] = &[
    (
        &[(CONFIG, "units = \"mm\"", "unit = \"mm\"")],
        &[
            r#"oddleg.toml:2: build.units: missing, expected "mm", "in" or "in-fractions""#,
            r#"oddleg.toml:4: build.unit: unknown key, did you mean "units"?"#,
        ],
    ),
    (
        &[
            (PART, "width = \"286 mm\"", "width = \"286\""),
            (PART, "radius = \"1/8 in\"", "raduis = \"1/8 in\""),
        ],
        &[
            r#"parts/B2.toml:12: panel.width: found "286", unit missing, expected one of mm, cm, m, µm, in"#,
            r#"parts/B2.toml:15: panel.flange.radius: missing, expected a length with its unit such as "12.7 mm""#,
            r#"parts/B2.toml:20: panel.flange.raduis: unknown key, did you mean "radius"?"#,
        ],
    ),
    (
        &[(
            CONFIG,
            "port = \"gauges/caliper-1\"",
            "port = \"gauges/caliper-1\"\nresolution = \"0.1 deg\"\nlimit_of_error = \"DIN 861\"\ncalibrated_until = \"31.3.2027\"\ncheck_every = \"36 h\"\ncheck_against = { zero = \"1 mm\", block = \"25\" }",
        )],
        &[
            r#"oddleg.toml:16: gauge.caliper-1.resolution: found the angle "0.1 deg", expected a length with its unit such as "12.7 mm""#,
            r#"oddleg.toml:17: gauge.caliper-1.limit_of_error: found "DIN 861", expected "DIN 862", or a quantity above zero such as "0.03 mm" or "0.2 deg""#,
            r#"oddleg.toml:18: gauge.caliper-1.calibrated_until: found "31.3.2027", expected a day such as "2027-03-31""#,
            r#"oddleg.toml:19: gauge.caliper-1.check_every: found 129600 s, expected whole days, 1 to 3650, such as "7 days""#,
            r#"oddleg.toml:20: gauge.caliper-1.check_against.block: found "25", unit missing, expected one of mm, cm, m, µm, in, deg; expected a size such as "25 mm", "50 mm inside" or "30 mm depth""#,
            r#"oddleg.toml:20: gauge.caliper-1.check_against.zero: every gauge can be checked at zero, expected another name"#,
        ],
    ),
    (
        &[
            (
                CONFIG,
                "port = \"gauges/caliper-1\"",
                "port = \"gauges/caliper-1\"\nlimit_of_error = \"DIN 862\"\ncheck_against = { long = \"1200 mm\" }",
            ),
            (CONFIG, "", "resolution = \"0.01 mm\"\n"),
        ],
        &[
            r#"oddleg.toml:17: gauge.caliper-1.check_against: how far the gauge may be off at 1200 mm is not stated, expected a `limit_of_error` that says so; "DIN 862" ends at 1000 mm"#,
            r#"oddleg.toml:24: gauge.keypad-1.resolution: what is typed comes from another instrument, expected no such key"#,
        ],
    ),
    (
        &[(CONFIG, "bench = \"bench-1\"", "bench = \"bench-2\"")],
        &[r#"oddleg.toml:12: gauge.caliper-1.bench: found "bench-2", expected one of bench-1"#],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[gauge.caliper-2]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\nport = \"gauges/caliper-1\"\nunit = \"mm\"\n",
        )],
        &[
            r#"oddleg.toml:27: gauge.caliper-2.port: another gauge has this port, expected one gauge a port, or a `channel` for each"#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[gauge.caliper-2]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\nport = \"gauges/caliper-2\"\nunit = \"mm\"\ndialect = \"pattern\"\npattern = \"{channel}{value}\"\nletters = \"APD\"\nmode = \"send\"\nsettle = \"1 s\"\ninterval_min = \"soon\"\n",
        )],
        &[
            r#"oddleg.toml:30: gauge.caliper-2.pattern: found {channel} followed by {value}: a line could be split in two ways, as '0' may belong to either; put a text between them or give {channel} a width such as {channel:2}"#,
            r#"oddleg.toml:31: gauge.caliper-2.letters: only the dialect "lettered" has it"#,
            r#"oddleg.toml:33: gauge.caliper-2.settle: only a gauge with mode = "stream" has it"#,
            r#"oddleg.toml:34: gauge.caliper-2.interval_min: found "soon", expected a whole number of ms or s up to a minute such as "300 ms" or "2 s""#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[gauge.caliper-2]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\nport = \"gauges/caliper-2\"\nunit = \"mm\"\ndialect = \"sync-24\"\nchannel = \"1\"\nmode = \"stream\"\ntremor = \"1 mm\"\nmove_min = \"0.5 mm\"\ntroubles = { \"----\" = \"flat\" }\n",
        )],
        &[
            r#"oddleg.toml:23: gauge.caliper-2.order: missing, expected "low-byte-first", "number" or "bits""#,
            r#"oddleg.toml:23: gauge.caliper-2: `move_min` is not above `tremor`, expected more, or a trembling hand makes readings"#,
            r#"oddleg.toml:34: gauge.caliper-2.troubles.----: found "flat", expected "error", "battery" or "overflow""#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[gauge.mux-1]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\nport = \"gauges/mux\"\nunit = \"mm\"\ndialect = \"multiplexer\"\nchannel = \"01\"\n\n[gauge.mux-2]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\nport = \"gauges/mux\"\nunit = \"mm\"\ndialect = \"multiplexer\"\nchannel = \"01\"\n\n[gauge.mux-3]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"serial\"\nport = \"gauges/mux\"\nunit = \"mm\"\ndialect = \"axis\"\nchannel = \"X\"\n",
        )],
        &[
            r#"oddleg.toml:39: gauge.mux-2.channel: another gauge on this port has the channel "01", expected one gauge a channel"#,
            r#"oddleg.toml:45: gauge.mux-3.port: gauge mux-1 on this port has another dialect or other line settings, expected the same: it is one line"#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[mqtt]\nbroker = \"mqtts://localhost\"\nuser = \"oddleg\"\n",
        )],
        &[
            r#"oddleg.toml:24: mqtt.broker: an mqtts broker needs `ca`: the file of the authority to trust, as PEM"#,
            r#"oddleg.toml:25: mqtt.user: found a user without `password_file`, expected both"#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[mqtt]\nbroker = \"localhost:1883\"\npassword_file = \"away\"\n",
        )],
        &[
            r#"oddleg.toml:24: mqtt.broker: found "localhost:1883", expected "mqtt://host" or "mqtts://host", with a port if it is not the usual one"#,
            r#"oddleg.toml:25: mqtt.password_file: found a password without `user`, expected both"#,
            r#"oddleg.toml:25: mqtt.password_file: reading "away": No such file or directory (os error 2)"#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[mqtt]\nlisten = \"1883\"\nca = \"ca.pem\"\n\n[mqtt.client.caliper-1]\npassword = \"tidewater\"\n\n[mqtt.client.lamp]\nfindings = true\n\n[mqtt.client.idle]\nclient_id = \"radio-7\"\n\n[mqtt.client.old]\nclient_id = \"radio-7\"\ngauges = [\"keypad-1\"]\n\n[gauge.radio-1]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"mqtt\"\nunit = \"mm\"\n",
        )],
        &[
            r#"oddleg.toml:24: mqtt.listen: found "1883", expected an address and port such as "127.0.0.1:1883""#,
            r#"oddleg.toml:25: mqtt.ca: only a `broker` has one"#,
            r#"oddleg.toml:27: mqtt.client.caliper-1: may do nothing, expected `gauges` or `sensors` it speaks for, or `findings = true` for a lamp"#,
            r#"oddleg.toml:28: mqtt.client.caliper-1.password: found "tidewater", expected "sha256:" and 64 hexadecimal digits, as `oddleg password` prints"#,
            r#"oddleg.toml:30: mqtt.client.lamp: found neither `password` nor `client_id`, expected one of them; `oddleg password lamp` prints a password"#,
            r#"oddleg.toml:33: mqtt.client.idle: may do nothing, expected `gauges` or `sensors` it speaks for, or `findings = true` for a lamp"#,
            r#"oddleg.toml:37: mqtt.client.old.client_id: another client has "radio-7" too"#,
            r#"oddleg.toml:38: mqtt.client.old.gauges: found "keypad-1", expected the name of a gauge with via = "mqtt""#,
        ],
    ),
    (
        &[(
            CONFIG,
            "",
            "\n[mqtt]\nlisten = \"127.0.0.1:1883\"\n\n[gauge.radio-1]\nbench = \"bench-1\"\nkind = \"caliper\"\nvia = \"mqtt\"\nunit = \"mm\"\n",
        )],
        &[
            r#"oddleg.toml:24: mqtt.listen: nobody may connect, expected a table [mqtt.client.NAME] for each bridge and lamp; `oddleg password NAME` prints one"#,
            r#"oddleg.toml:29: gauge.radio-1.via: no [mqtt.client] may speak for this gauge, expected one of its name or with it in `gauges`"#,
        ],
    ),
    (
        &[(CONFIG, "via = \"serial\"", "via = \"mqtt\"")],
        &[
            r#"oddleg.toml:14: gauge.caliper-1.via: found "mqtt" but no [mqtt] table, expected one with `broker` or `listen`"#,
            r#"oddleg.toml:15: gauge.caliper-1.port: only a gauge with via = "serial" has a port"#,
        ],
    ),
    (
        &[(
            "parts/B2-again.toml",
            "",
            "part = \"B2\"\ntitle = \"Again\"\nquantity = 1\n\n[sheet]\nalloy = \"5052-H32\"\nthickness = \"0.032 in\"\n\n[panel]\ngiven = \"outside\"\nwidth = \"100 mm\"\nheight = \"50 mm\"\n",
        )],
        &[
            r#"parts/B2.toml:2: part: B2 is defined in parts/B2-again.toml too, expected one file a part"#,
        ],
    ),
    (
        &[
            (
                CONFIG,
                "name = \"Saltmarsh floats (invented)\"",
                "name = \"Saltmarsh floats (invented)",
            ),
            (PART, "quantity = 4", "quantity = 0"),
            (PART, "angle = \"90 deg\"", "angle = \"90 mm\""),
        ],
        &[
            r#"oddleg.toml:3: this is not TOML: invalid basic string, expected `"`"#,
            r#"parts/B2.toml:4: quantity: found the number 0, expected a whole number from 1 to 9999"#,
            r#"parts/B2.toml:19: panel.flange.angle: found the length "90 mm", expected an angle with its unit such as "90 deg""#,
        ],
    ),
    (
        &[
            (
                CONFIG,
                "general_tolerance = \"ISO 2768-1 m\"",
                "general_tolerance = \"ISO 2768-1 x\"",
            ),
            (
                CONFIG,
                "bend_allowance = \"empirical\"",
                "bend_allowance = \"guess\"",
            ),
            (CONFIG, "kind = \"caliper\"", "kind = \"calliper\""),
            (
                PART,
                "thickness = \"0.032 in\"",
                "thickness = \"0.032 deg\"",
            ),
            (PART, "plus = \"1/32 in\"", "plus = \"1/32\""),
        ],
        &[
            r#"oddleg.toml:5: build.general_tolerance: found "ISO 2768-1 x", expected "ISO 2768-1 f", "ISO 2768-1 m", "ISO 2768-1 c" or "ISO 2768-1 v""#,
            r#"oddleg.toml:6: build.bend_allowance: found "guess", expected "empirical", "din-6935", "t/2" or a k-factor such as "k 0.44""#,
            r#"oddleg.toml:13: gauge.caliper-1.kind: found "calliper", expected one of caliper, angle-gauge"#,
            r#"parts/B2.toml:8: sheet.thickness: found the angle "0.032 deg", expected a length with its unit such as "12.7 mm""#,
            r#"parts/B2.toml:27: tolerance.plus: found "1/32", unit missing, expected one of mm, cm, m, µm, in, deg"#,
        ],
    ),
    (
        &[(CONFIG, "", "\n[http]\nlisten = \"8377\"\n")],
        &[
            r#"oddleg.toml:24: http.listen: found "8377", expected an address and port such as "127.0.0.1:8377""#,
        ],
    ),
    (
        &[(CONFIG, "unit = \"mm\"", "unit = \"furlong\"")],
        &[r#"oddleg.toml:16: gauge.caliper-1.unit: found "furlong", expected "mm" or "in""#],
    ),
    (
        &[
            (
                CONFIG,
                "units = \"mm\"\n",
                "units = \"mm\"\nunits = \"in\"\n",
            ),
            (PART, "[sheet]", "[sheet"),
            (
                "parts/K1.toml",
                "",
                "part = \"K1\"\ntitle = \"Keelson angle\"\nquantity = \"two\"\n\n[sheet]\nalloy = \"6061-T4\"\nthickness = \"1 mm\"\n\n[panel]\ngiven = \"outside\"\nwidth = \"24 in\"\nheight = \"1 in\"\n",
            ),
        ],
        &[
            r#"oddleg.toml:5: this is not TOML: duplicate key"#,
            r#"parts/B2.toml:6: this is not TOML: unclosed table, expected `]`"#,
            r#"parts/K1.toml:3: quantity: found the text "two", expected a whole number from 1 to 9999"#,
        ],
    ),
];
