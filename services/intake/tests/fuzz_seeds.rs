//! The seeds of the fuzz targets, replayed: what the fuzzers once found interesting stays checked
//! without them.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests, where a panic is the report"
)]

#[path = "../fuzz/src/lib.rs"]
#[allow(unreachable_pub, reason = "public for the fuzz targets")]
mod checks;

/// Bytes written as `u8::escape_ascii` writes them.
fn unescaped(line: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut rest = line.bytes();
    while let Some(byte) = rest.next() {
        if byte != b'\\' {
            bytes.push(byte);
            continue;
        }
        bytes.push(match rest.next().expect("an escape has a letter") {
            b'n' => b'\n',
            b'r' => b'\r',
            b't' => b'\t',
            b'x' => {
                let digits = [rest.next().unwrap(), rest.next().unwrap()];
                u8::from_str_radix(std::str::from_utf8(&digits).unwrap(), 16).unwrap()
            }
            other => other,
        });
    }
    bytes
}

#[test]
fn every_seed_of_every_decoder_holds_what_the_fuzz_targets_ask() {
    for (name, check) in checks::ALL {
        let file = format!("{}/fuzz/seeds/{name}.txt", env!("CARGO_MANIFEST_DIR"));
        let seeds =
            std::fs::read_to_string(&file).unwrap_or_else(|error| panic!("{file}: {error}"));
        assert!(!seeds.is_empty(), "{file}");
        for seed in seeds.lines() {
            let bytes = unescaped(seed);
            assert_eq!(bytes.escape_ascii().to_string(), seed, "{file}");
            check(&bytes);
        }
    }
}
