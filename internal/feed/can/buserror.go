package can

// Classes of trouble in the identifier of an error frame, and the bits of its
// second byte where the class is the controller (Linux, include/uapi/linux/can/error.h;
// the first nine also in the CAN library used here).
const (
	classTimeout     = 0x001
	classArbitration = 0x002
	classController  = 0x004
	classProtocol    = 0x008
	classTransceiver = 0x010
	classNoAck       = 0x020
	classBusOff      = 0x040
	classBusError    = 0x080
	classRestarted   = 0x100
	classCounters    = 0x200

	controllerAt       = 1
	controllerOverflow = 0x01 | 0x02
	controllerPassive  = 0x10 | 0x20
	controllerWarning  = 0x04 | 0x08
)

// trouble names what an error frame reports, the gravest first, in few fixed
// words; "" for one that reports that all is well again.
func trouble(f *Frame) string {
	switch class := f.ID; {
	case class&classBusOff != 0:
		return "bus error: the controller has gone off the bus"
	case class&classTransceiver != 0:
		return "bus error: wiring, as the transceiver sees it"
	case class&classController != 0 && f.Data[controllerAt]&controllerPassive != 0:
		return "bus error: so many errors that the controller is passive"
	case class&classController != 0 && f.Data[controllerAt]&controllerOverflow != 0:
		return "bus error: frames lost, the controller's buffer was full"
	case class&classController != 0 && f.Data[controllerAt]&controllerWarning != 0:
		return "bus error: many errors"
	case class&(classProtocol|classBusError) != 0:
		return "bus error: a damaged frame"
	case class&classNoAck != 0:
		return "bus error: nobody acknowledges"
	case class&classTimeout != 0:
		return "bus error: sending timed out"
	case class&(classArbitration|classController|classRestarted|classCounters) != 0:
		return ""
	}
	return "bus error: unknown"
}
