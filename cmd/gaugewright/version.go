package main

import "runtime/debug"

// version is the program's own, as the module was built; "" where it was built of
// a work tree.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "(devel)" {
		return ""
	}
	return info.Main.Version
}
