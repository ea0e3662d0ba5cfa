// Package can listens to fluid levels on a CAN bus: NMEA 2000 PGN 127505 and SAE
// J1939 SPN 96 and 38, live over SocketCAN or from a recorded candump log.
//
// It never sends. What it takes from a frame is a level in percent; the capacity
// that an NMEA 2000 device tells is only compared with the one configured.
//
// identifier.go, fluid.go and fuel.go are the codec of the two standards, log.go
// and logline.go that of the logs of can-utils, buserror.go that of the kernel's
// error frames. None of them knows of connections. live.go listens to a bus and
// play.go plays a log; both hand what they find to listener.go, and device.go tells
// apart those who tell the same level.
package can
