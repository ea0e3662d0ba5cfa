// Package modbus polls registers over Modbus TCP and RTU.
package modbus
