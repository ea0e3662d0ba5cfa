package station

import (
	"context"

	"gaugewright/internal/feed"
)

// breaking is a feed that breaks down once.
type breaking struct {
	runs int
	stop func()
}

func (b *breaking) Name() string { return "breaking" }

func (b *breaking) Run(context.Context, feed.Sink, feed.Teller) error {
	if b.runs++; b.runs == 1 {
		panic("out of paper")
	}
	b.stop()
	return nil
}
