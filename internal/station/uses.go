package station

import (
	_ "github.com/BurntSushi/toml"
)
