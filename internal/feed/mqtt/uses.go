package mqtt

import (
	_ "github.com/eclipse/paho.golang/autopaho"
	_ "github.com/eclipse/paho.mqtt.golang"
	_ "github.com/mochi-mqtt/server/v2"
	_ "github.com/mochi-mqtt/server/v2/listeners"
)
