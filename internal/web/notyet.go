package web

func notYet() error { return notFound("There is no such page yet.") }
