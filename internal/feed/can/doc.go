// Package can listens to fluid levels on a CAN bus: NMEA 2000 PGN 127505 and SAE
// J1939 SPN 96 and 38, live over SocketCAN or from a recorded candump log.
package can
