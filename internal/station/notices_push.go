package station

import (
	"context"
)

type pushing struct{}

func (s *Station) buildPush(context.Context) error { return nil }

func (s *Station) gone(context.Context, *sender) {}

func (p poster) Key() string { return "" }

func (p poster) Subscribe(context.Context, string, []byte) error { return errOff }

func (p poster) Unsubscribe(context.Context, string) error { return errOff }
