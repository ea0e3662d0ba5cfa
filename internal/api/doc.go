// Package api is the watch for programs: JSON under /api/v1 with an OpenAPI
// document made from the code, the figures of the program in Prometheus' text
// format, and whether it is alive and ready.
package api
