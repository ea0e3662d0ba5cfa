module gaugewright/tools/benchmarks/history

go 1.26.0

require gaugewright v0.0.0

require gonum.org/v1/gonum v0.17.0 // indirect

replace gaugewright => ../../..
