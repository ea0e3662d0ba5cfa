package can

import (
	"testing"

	"go.einride.tech/can/pkg/socketcan"
)

// The classes and the controller's bits are those of the CAN library, which other
// people copied from the kernel.
func TestClasses(t *testing.T) {
	for got, want := range map[uint32]socketcan.ErrorClass{
		classTimeout:     socketcan.ErrorClassTxTimeout,
		classArbitration: socketcan.ErrorClassLostArbitration,
		classController:  socketcan.ErrorClassController,
		classProtocol:    socketcan.ErrorClassProtocolViolation,
		classTransceiver: socketcan.ErrorClassTransceiver,
		classNoAck:       socketcan.ErrorClassNoAck,
		classBusOff:      socketcan.ErrorClassBusOff,
		classBusError:    socketcan.ErrorClassBusError,
		classRestarted:   socketcan.ErrorClassRestarted,
	} {
		if got != uint32(want) {
			t.Errorf("%v is %#x, expected %#x", want, got, uint32(want))
		}
	}
	for got, want := range map[socketcan.ControllerError]socketcan.ControllerError{
		controllerOverflow: socketcan.ControllerErrorRxBufferOverflow | socketcan.ControllerErrorTxBufferOverflow,
		controllerWarning:  socketcan.ControllerErrorRxWarning | socketcan.ControllerErrorTxWarning,
		controllerPassive:  socketcan.ControllerErrorRxPassive | socketcan.ControllerErrorTxPassive,
	} {
		if got != want {
			t.Errorf("%#x, expected %#x", got, want)
		}
	}
}

// Several classes may come in one frame; the gravest is named. What reports that
// all is well names nothing.
func TestTrouble(t *testing.T) {
	for text, want := range map[string]string{
		"200000C8#0000000000000000": "bus error: the controller has gone off the bus",
		"20000014#0010000000000000": "bus error: wiring, as the transceiver sees it",
		"20000004#0030000000000000": "bus error: so many errors that the controller is passive",
		"20000004#0001000000000000": "bus error: frames lost, the controller's buffer was full",
		"20000004#000C000000000000": "bus error: many errors",
		"20000088#0000080000000000": "bus error: a damaged frame",
		"20000020#0000000000000000": "bus error: nobody acknowledges",
		"20000001#0000000000000000": "bus error: sending timed out",
		"20000002#0300000000000000": "",
		"20000004#0040000000000000": "",
		"20000100#0000000000000000": "",
		"20000200#0000000000007F00": "",
		"20000400#0000000000000000": "bus error: unknown",
	} {
		if f := frame(t, text); trouble(&f) != want {
			t.Errorf("%s: %q, expected %q", text, trouble(&f), want)
		}
	}
}
