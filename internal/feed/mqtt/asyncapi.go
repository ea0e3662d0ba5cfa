package mqtt

import _ "embed" // the document

// AsyncAPI is the AsyncAPI 3.0 document of all that goes in and out by MQTT: the
// topics, and JSON Schemas of the payloads.
//
//go:embed asyncapi.json
var AsyncAPI []byte
