//! The packets a client may send, on the codec of the client library. What that one lets pass and MQTT
//! 3.1.1 forbids is refused here. Pure.

use bytes::BytesMut;
use rumqttc::QoS;
use rumqttc::mqttbytes::v4::Packet;
use rumqttc::mqttbytes::{self, has_wildcards};

/// Why a connection ends over what came by it. Sections are those of MQTT 3.1.1.
#[derive(Debug, thiserror::Error)]
pub(super) enum Malformed {
    /// The codec could not read it.
    #[error("it cannot be read: {0}")]
    Unreadable(#[from] mqttbytes::Error),
    /// A first byte no client may begin a packet with (2.2.1, 2.2.2).
    #[error("no client may begin a packet with {0:#04x}")]
    FirstByte(u8),
    /// QoS 2 takes four messages where two and an id of the bridge's own do (4.3.3).
    #[error("it is part of QoS 2, expected QoS 0 or 1")]
    QosTwo,
    /// Another version of the protocol (3.1.2.2).
    #[error("it speaks another version, expected MQTT 3.1.1")]
    Version,
    /// A connect flag that must be zero (3.1.2.3, 3.1.2.9).
    #[error("it sets a connect flag that must be 0")]
    ConnectFlags,
    /// A topic that is none (3.3.2.1).
    #[error("its topic is empty or has a wildcard in it")]
    Topic,
    /// Marked as sent before although QoS 0 is never sent again (3.3.1.1).
    #[error("it is marked as sent before, which QoS 0 never is")]
    AgainWithoutQos,
    /// Packet id 0 (2.3.1), or something after the end of the packet.
    #[error("its packet id is 0 or its length is wrong")]
    Shape,
}

/// The next whole packet, taken from the front of `bytes`; `None` until it is there. At most `max` bytes
/// may follow a packet's length.
pub(super) fn next(bytes: &mut BytesMut, max: usize) -> Result<Option<Packet>, Malformed> {
    let Some(&first) = bytes.first() else {
        return Ok(None);
    };
    // Before the rest is waited for: a stranger that speaks another protocol is seen by its first byte.
    match first {
        0x10 | 0x30..=0x3f | 0x82 | 0xa2 | 0xc0 | 0xe0 => {}
        0x50 | 0x62 | 0x70 => return Err(Malformed::QosTwo),
        _ => return Err(Malformed::FirstByte(first)),
    }
    if first == 0x10
        && let Some(body) = body(bytes)
    {
        connect_head(body)?;
    }
    if matches!(first, 0xc0 | 0xe0) && bytes.get(1).is_some_and(|length| *length != 0) {
        return Err(Malformed::Shape);
    }
    let packet = match Packet::read(bytes, max) {
        Ok(packet) => packet,
        Err(mqttbytes::Error::InsufficientBytes(_)) => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    match &packet {
        Packet::Publish(publish) => {
            if publish.qos == QoS::ExactlyOnce {
                return Err(Malformed::QosTwo);
            }
            if publish.dup && publish.qos == QoS::AtMostOnce {
                return Err(Malformed::AgainWithoutQos);
            }
            let topic = &publish.topic;
            if topic.is_empty() || has_wildcards(topic) || topic.contains('\0') {
                return Err(Malformed::Topic);
            }
        }
        Packet::Subscribe(subscribe) if subscribe.pkid == 0 => return Err(Malformed::Shape),
        Packet::Unsubscribe(gone) if gone.pkid == 0 || gone.topics.is_empty() => {
            return Err(Malformed::Shape);
        }
        _ => {}
    }
    Ok(Some(packet))
}

/// What follows a packet's length, as far as it is here; `None` while the length is not.
fn body(bytes: &[u8]) -> Option<&[u8]> {
    let length_bytes = bytes.iter().skip(1).take(4);
    let end = length_bytes.clone().position(|byte| byte & 0x80 == 0)?;
    bytes.get(end + 2..)
}

/// The head of a CONNECT: the codec reads a version 5 packet as if it were version 4.
fn connect_head(body: &[u8]) -> Result<(), Malformed> {
    const NAME: &[u8] = b"\0\x04MQTT";
    let Some(level) = body.get(NAME.len()) else {
        return Ok(());
    };
    if !body.starts_with(NAME) || *level != 4 {
        return Err(Malformed::Version);
    }
    let Some(flags) = body.get(NAME.len() + 1) else {
        return Ok(());
    };
    let (reserved, user, password) = (flags & 1, flags & 0x80, flags & 0x40);
    if reserved != 0 || (user == 0 && password != 0) {
        return Err(Malformed::ConnectFlags);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rumqttc::mqttbytes::v4::{Connect, Publish, Subscribe};

    use super::*;

    const MAX: usize = 2048;

    fn seen(bytes: &[u8]) -> String {
        let mut bytes = BytesMut::from(bytes);
        match next(&mut bytes, MAX) {
            Ok(Some(packet)) => format!("{packet:?}"),
            Ok(None) => "more".to_owned(),
            Err(why) => format!("{why:?}"),
        }
    }

    /// Packets written down by hand from the sections of MQTT 3.1.1 (OASIS standard, 2014) beside each.
    #[test]
    fn what_the_standard_forbids_a_client_is_seen() {
        let cases: &[(&[u8], &str)] = &[
            // 2.2.2: reserved flags of SUBSCRIBE, PINGREQ and CONNECT.
            (b"\x80\x06\0\x01\0\x01a\0", "FirstByte(128)"),
            (b"\xc1\0", "FirstByte(193)"),
            (b"\x11", "FirstByte(17)"),
            // 2.2.1: what only a server sends, and the reserved types.
            (b"\x20\x02\0\0", "FirstByte(32)"),
            (b"\xd0\0", "FirstByte(208)"),
            (b"\0", "FirstByte(0)"),
            (b"\xf0", "FirstByte(240)"),
            // Another protocol altogether.
            (b"GET / HTTP/1.1\r\n", "FirstByte(71)"),
            (b"\x16\x03\x01\x02\0\x01\0", "FirstByte(22)"),
            // 2.2.3: a length of five bytes.
            (
                b"\x30\xff\xff\xff\xff\x01",
                "Unreadable(MalformedRemainingLength)",
            ),
            (
                b"\x30\xff\xff\xff\x7f",
                "Unreadable(PayloadSizeLimitExceeded(268435455))",
            ),
            // 3.1.2.1, 3.1.2.2: version 3.1 by its old name, version 5, no version.
            (b"\x10\x0e\0\x06MQIsdp\x03\x02\0\x3c\0\0", "Version"),
            (b"\x10\x0d\0\x04MQTT\x05\x02\0\x3c\0\0\0", "Version"),
            (b"\x10\x0c\0\x04MQTT\x06\x02\0\x3c\0\0", "Version"),
            // 3.1.2.3, 3.1.2.9, 3.1.2.6: reserved flag, password without user, will QoS without will.
            (b"\x10\x0c\0\x04MQTT\x04\x03\0\x3c\0\0", "ConnectFlags"),
            (
                b"\x10\x0f\0\x04MQTT\x04\x42\0\x3c\0\0\0\x01p",
                "ConnectFlags",
            ),
            (
                b"\x10\x0c\0\x04MQTT\x04\x0a\0\x3c\0\0",
                "Unreadable(IncorrectPacketFormat)",
            ),
            // A client id longer than the packet.
            (
                b"\x10\x0c\0\x04MQTT\x04\x02\0\x3c\0\x09",
                "Unreadable(BoundaryCrossed(9))",
            ),
            // 3.3.1.2, 4.3.3: QoS 3 is none, QoS 2 is not taken.
            (b"\x36\x05\0\x01a\0\x01", "Unreadable(InvalidQoS(3))"),
            (b"\x34\x05\0\x01a\0\x01", "QosTwo"),
            (b"\x62\x02\0\x01", "QosTwo"),
            // 3.3.1.1, 3.3.2.1, 2.3.1, 1.5.3.
            (b"\x38\x03\0\x01a", "AgainWithoutQos"),
            (b"\x30\x04\0\x02a+", "Topic"),
            (b"\x30\x02\0\0", "Topic"),
            (b"\x30\x03\0\x01\0", "Topic"),
            (b"\x32\x05\0\x01a\0\0", "Unreadable(PacketIdZero)"),
            (b"\x30\x04\0\x02\xc3\x28", "Unreadable(TopicNotUtf8)"),
            // 3.8.3: no filter, no packet id. 3.10.3: no filter. 3.12, 3.14: nothing follows.
            (b"\x82\x02\0\x01", "Unreadable(EmptySubscription)"),
            (b"\x82\x06\0\0\0\x01a\0", "Shape"),
            (b"\xa2\x02\0\x01", "Shape"),
            (b"\xc0\x01\0", "Shape"),
            (b"\xe0\x01", "Shape"),
            // Sound ones, whole and not yet.
            (b"\xc0\0", "PingReq"),
            (b"\xe0\0", "Disconnect"),
            (b"\xc0", "more"),
            (b"", "more"),
            (b"\x10\x0c\0\x04MQ", "more"),
        ];
        for (bytes, expected) in cases {
            assert_eq!(seen(bytes), *expected, "{bytes:02x?}");
        }
    }

    proptest! {
        /// The codec is not ours: whatever comes, it may refuse but not fall over.
        #[test]
        fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..64), first in prop::sample::select(vec![0x10_u8, 0x30, 0x32, 0x3d, 0x82, 0xa2])) {
            let mut packet = BytesMut::from(&[first, u8::try_from(bytes.len()).unwrap()][..]);
            packet.extend_from_slice(&bytes);
            drop(next(&mut packet, MAX));
        }

        /// How packets were chopped up on their way changes nothing.
        #[test]
        fn packets_come_out_the_same_however_they_were_chopped(cuts in prop::collection::vec(0_usize..200, 0..8)) {
            let mut sent = BytesMut::new();
            let mut connect = Connect::new("radio-7");
            connect.set_login("caliper-2", "tidewater");
            let mut publish = Publish::new("oddleg/gauges/caliper-2/reading", QoS::AtLeastOnce, "12.34");
            publish.pkid = 7;
            let mut subscribe = Subscribe::new("oddleg/benches/+/finding", QoS::AtLeastOnce);
            subscribe.pkid = 8;
            let packets = [Packet::Connect(connect), Packet::Publish(publish), Packet::Subscribe(subscribe), Packet::PingReq];
            for packet in &packets {
                packet.write(&mut sent, MAX).unwrap();
            }
            let mut ends: Vec<usize> = cuts.into_iter().map(|cut| cut.min(sent.len())).collect();
            ends.push(sent.len());
            ends.sort_unstable();
            let (mut bytes, mut begun, mut out) = (BytesMut::new(), 0, Vec::new());
            for end in ends {
                bytes.extend_from_slice(&sent[begun..end]);
                begun = end;
                while let Some(packet) = next(&mut bytes, MAX).unwrap() {
                    out.push(packet);
                }
            }
            prop_assert_eq!(out, packets);
        }
    }
}
