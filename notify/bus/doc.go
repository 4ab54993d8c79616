// Package bus answers one question: how does a message get in and out without being lost?
//
// It carries notices out and device messages in over NATS. One code path serves two set-ups: a
// server built into this process, which the package then owns and may join to a head office's hub,
// or one run by others, a cluster perhaps, and named by its URL.
//
// # Notices out
//
// Publish returns when the stream NOTICES has the notice on disk; an error means that this is not
// known, and the caller publishes again. A notice with the id and revision of one stored within
// the last 24 hours is acknowledged and not stored again, so publishing again is free. Listen
// hands over each stored notice once per call, in the order stored, also across lost connections.
// A later call from the start repeats them: a reader who minds keeps the ids. A slow listener
// holds up nobody, neither the publisher nor other listeners; it falls behind and reads from
// disk, until retention (age or bytes, oldest first) overtakes it.
//
// A notice is a CloudEvent; schema/ has the form of each kind's data, asyncapi.yaml every subject.
// The same source and id is the same notice.
//
// # Questions
//
// Answer takes questions on fairwindow.ask.NAME and answers the asker alone, or refuses with a
// sentence. Nothing of it is kept: who gets no answer asks again.
//
// # Device messages in
//
// The built-in server speaks MQTT 3.1.1. A message published with QoS 1 or 2 is on disk before
// its device is told so, and stays there until the handler given to Intake has returned nil for
// it, whatever stops or crashes in between. The server keeps such messages only for those it
// knows to be interested, so the interest of Intake is recorded before the MQTT port opens for
// the first time. QoS 0 promises nothing and is not taken in; it can be heard live on Conn.
//
// Messages of one device arrive in the order sent, except that after a failed batch or a crash
// newer ones may come before older ones come again. A message may come more than once: the
// handler must make the same of it each time. A slow handler holds up nobody; messages wait on
// disk, up to StoreBytes in all.
//
// The server acknowledges a message whose topic its sender may not publish to, and drops it; the
// log then says "Publish Violation". A topic with white space breaks the connection.
package bus
