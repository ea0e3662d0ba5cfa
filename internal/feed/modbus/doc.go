// Package modbus polls registers over Modbus TCP, Modbus RTU on a serial line,
// and RTU frames over a TCP connection, and makes readings of them.
//
// value.go knows what registers mean, frame.go how requests and answers look on
// the wire, plan.go which registers are asked for together; none of them knows
// connections. Only the functions 3 and 4 are used, so nothing is ever written
// to a device.
//
// The frames are our own rather than a library's because of faults that matter
// on a vehicle's bus: an answer that came too late must not count as the answer
// to the next question, a byte of noise before a frame must not spoil it, and a
// serial port that is opened among more than a thousand connections must do no
// harm to the rest. The tests ask servers and clients of other people.
//
// References: MODBUS Application Protocol Specification V1.1b3 (functions and
// exceptions); MODBUS over Serial Line V1.02 (frames, CRC, silence between
// frames); MODBUS Messaging on TCP/IP Implementation Guide V1.0b (header). All
// from memory, and held to the bytes in the tests.
package modbus
