//! A message is acknowledged after its commit, in order, on the connection it came by. Against the
//! real broker with the shipped configuration.

mod support;

use support::{Intake, Mosquitto, tell};

/// Only what comes after says that nothing came before: the next reading must be this one.
async fn nothing_but(broker: &Mosquitto, intake: &mut Intake, sentinel: u32) {
    broker.readings(sentinel..sentinel + 1).await;
    let (numbers, receipts) = intake.numbers(1).await;
    assert_eq!(numbers, [sentinel]);
    tell(receipts);
}

#[tokio::test(flavor = "multi_thread")]
async fn messages_are_acknowledged_in_order_and_only_after_their_receipt() {
    let broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    broker.readings(0..5).await;
    let (numbers, mut receipts) = intake.numbers(5).await;
    assert_eq!(numbers, [0, 1, 2, 3, 4]);
    // The first is not committed: nothing behind it may be acknowledged either.
    tell(receipts.drain(2..));
    intake.crash().await;
    drop(receipts);

    let mut intake = Intake::start(broker.settings());
    let (numbers, mut receipts) = intake.numbers(5).await;
    assert_eq!(numbers, [0, 1, 2, 3, 4]);
    tell(receipts.drain(..2));
    // An orderly stop flushes what is told; the other three stay with the broker.
    drop(receipts);
    intake.stop().await;

    let mut intake = Intake::start(broker.settings());
    let (numbers, receipts) = intake.numbers(3).await;
    assert_eq!(numbers, [2, 3, 4]);
    tell(receipts);
    nothing_but(&broker, &mut intake, 90).await;
    intake.stop().await;

    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    nothing_but(&broker, &mut intake, 91).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_receipt_held_over_a_broker_restart_acknowledges_nothing() {
    let mut broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    intake.stop().await;
    broker.readings(0..5).await;
    // The broker writes what waits for a client that is away; what it has sent to one that is
    // there it does not, and a kill would lose it at the broker.
    broker.written().await;
    let mut intake = Intake::start(broker.settings());
    let (_, old) = intake.numbers(5).await;
    broker.kill();
    broker.run();
    // The broker delivers again what was not acknowledged; the spine knows each by its key.
    let (numbers, mut again) = intake.numbers(5).await;
    assert_eq!(numbers, [0, 1, 2, 3, 4]);
    tell(old);
    tell(again.drain(..1));
    intake.stop().await;

    let mut intake = Intake::start(broker.settings());
    let (numbers, receipts) = intake.numbers(4).await;
    assert_eq!(numbers, [1, 2, 3, 4]);
    tell(receipts);
    nothing_but(&broker, &mut intake, 90).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn six_hundred_messages_that_waited_arrive_once_each_through_a_small_queue() {
    // More than the queue to the connection and a group together hold.
    const COUNT: u32 = 600;
    let mut broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    intake.stop().await;
    broker.readings(0..COUNT).await;
    // What the broker had acknowledged to the bridge survives its end.
    broker.written().await;
    broker.kill();
    broker.run();

    let mut intake = Intake::start_with_room(broker.settings(), 8);
    let mut all = Vec::new();
    while all.len() < COUNT as usize {
        // As group commits tell them: many at once.
        let (numbers, receipts) = intake.numbers(300).await;
        all.extend(numbers);
        tell(receipts);
    }
    assert_eq!(all, (0..COUNT).collect::<Vec<_>>());
    nothing_but(&broker, &mut intake, COUNT).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_orderly_stop_waits_for_what_was_handed_in() {
    let broker = Mosquitto::start();
    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    broker.readings(0..3).await;
    let (_, receipts) = intake.numbers(3).await;
    let stop = intake.stop.clone();
    let stopping = tokio::spawn(intake.stop());
    stop.cancelled().await;
    tell(receipts);
    stopping.await.unwrap();

    let mut intake = Intake::start(broker.settings());
    intake.up().await;
    nothing_but(&broker, &mut intake, 90).await;
}
