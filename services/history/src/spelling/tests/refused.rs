//! What is on disk is not believed.

use super::{FIXTURE, decode};

/// Each line is the fixture's reading with one thing made wrong.
#[test]
fn a_body_that_breaks_an_invariant_is_refused() {
    let good = FIXTURE.lines().nth(5).unwrap();
    decode(good).unwrap();
    for (part, wrong) in [
        (r#""caliper-1""#, r#""caliper 1""#),
        (r#""B2/3""#, r#""B2/03""#),
        (r#""B2/3""#, r#""B2/0""#),
        (r#""pass""#, r#""passed""#),
        (r#""mm""#, r#""furlong""#),
        (r#"{"pm":12700000000}"#, r#"{"pm":1000000000000001}"#),
        (r#"{"pm":12700000000}"#, r#"{"pm":12.7}"#),
        (r#""v":"mqtt""#, r#""v":"mqtt","v":"mqtt""#),
        (r#""v":"mqtt""#, r#""v":"mqtt","more":1"#),
        (r#""b":"+0012.70mm","#, ""),
        (r#""b":"+0012.70mm""#, r#""b":"1","x":"MQ""#),
        (r#""b":"+0012.70mm""#, r#""x":"?""#),
        (r#","d":["12.70","mm",{"pm":12700000000}]"#, ""),
        (r#","d":["#, r#","u":"cut","d":["#),
        (r#"{"pm":12700000000}]"#, r#"{"pm":12700000000}],"c":2"#),
        (
            r#"{"pm":12700000000}]"#,
            r#"{"pm":12700000000}],"s":"echo","c":1"#,
        ),
        (r#"}}}"#, r#"}}} "t""#),
    ] {
        let body = good.replacen(part, wrong, 1);
        assert_ne!(body, good, "{part} is not in the fixture");
        assert!(decode(&body).is_err(), "{body}");
    }
    let plan = FIXTURE.lines().nth(1).unwrap();
    let crossed = plan.replacen(r#""l":{"pm":12500000000}"#, r#""l":{"pm":12900000001}"#, 1);
    assert_ne!(crossed, plan);
    assert!(decode(&crossed).is_err());
    let paired = FIXTURE.lines().nth(13).unwrap();
    decode(paired).unwrap();
    for (part, wrong) in [
        (
            r#""mean":["formed.height.left",3]"#,
            r#""mean":["formed.height.left",1]"#,
        ),
        (
            r#""mean":["formed.height.left",3]"#,
            r#""mean":["formed.height.left",26]"#,
        ),
        // Words for one characteristic more than there are.
        (r#""m":{"w":["#, r#""m":{"w":[["","","",""],"#),
        (r#""s":"measured""#, r#""s":"guessed""#),
    ] {
        let body = paired.replacen(part, wrong, 1);
        assert_ne!(body, paired, "{part} is not in the fixture");
        assert!(decode(&body).is_err(), "{body}");
    }
    let verdict_on_nothing =
        FIXTURE
            .lines()
            .nth(9)
            .unwrap()
            .replacen(r#""q":{"pm":12700000000},"#, "", 1);
    assert!(decode(&verdict_on_nothing).is_err());
}
