package record_test

import (
	"os/exec"
	"strconv"
	"strings"
)

// command runs a tool and gives what it prints.
func command(tool string, args ...string) (string, error) {
	out, err := exec.Command(tool, args...).Output()
	return string(out), err
}

// parse reads the number that a cell begins with.
func parse(cell string) (float64, error) {
	number, _, _ := strings.Cut(strings.ReplaceAll(cell, "−", "-"), " ")
	return strconv.ParseFloat(number, 64)
}
