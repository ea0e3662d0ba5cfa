package modbus

import _ "github.com/simonvetter/modbus"
