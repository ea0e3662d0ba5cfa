// Package meter is a bench meter, live: it asks a meter that speaks SCPI over a
// network socket or a serial line, or listens to a device that sends one number
// per line, and hands on what it says as [sitting.Sample]s.
//
// The codec is in number.go, unit.go, reply.go, line.go and identity.go: bytes
// in, values or words out, without clocks or wires. The connection is in the
// other files.
//
// What becomes a reading, and what never does:
//
//   - A value counts only if its whole line has arrived, in answer to the last
//     question. After a time without an answer the connection is made anew, and
//     what comes late is thrown away: the reply to *IDN? is the fence that
//     everything before it is left behind.
//   - Not a number, half a number, two answers to one question, or a comma that
//     may be a decimal comma as well as the border of two values, is Garbled.
//   - ±9.9E37 is Overload and 9.91E37 is not a number (SCPI-99). Devices with
//     text of their own say OL, OVER, ---- or the like.
//   - A value beyond [curve.Signal.Limit], or below zero by more than a meter's
//     zero is off (0.5 Ω, 0.05 V, 0.05 mA, 0.5 %: common practice, no source),
//     is Unfit. A smaller negative value is the answer of a real meter with
//     shorted leads, and is 0.
//   - A unit that isn't the one the bench wants is Unfit.
//
// Whether a reading stands still is not judged here; Spell is always 0.
package meter
