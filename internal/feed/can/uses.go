package can

import _ "go.einride.tech/can/pkg/socketcan"
