package api

import "context"

// FeedList is how all feeds stand.
type FeedList struct {
	Feeds []Feed `json:"feeds" nullable:"false" doc:"In the order of the configuration."`
}

func (a *API) watchOperations() {
	get(a, inside, "list-feeds", "/feeds", "watch", "How each way stands by which readings come in",
		"Whether each feed is connected, and what it brought.",
		func(context.Context, *struct{}) (FeedList, error) {
			list := FeedList{Feeds: []Feed{}}
			for _, f := range a.o.Watch.Feeds() {
				list.Feeds = append(list.Feeds, feedOf(f))
			}
			return list, nil
		})
	get(a, inside, "get-standing", "/standing", "watch", "How the watch itself stands",
		"Whether readings can be kept, what was lost, and what else people should know.",
		func(context.Context, *struct{}) (Standing, error) {
			return standingOf(a.o.Watch.Standing(), a.o.Version), nil
		})
}
