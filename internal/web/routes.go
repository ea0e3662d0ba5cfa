package web

import "net/http"

// Addresses that the guards at the door know as well.
const (
	importPath   = "/jobs/import"
	staticPath   = "/static/"
	signInPath   = "/sign-in"
	signingPath  = "/signing"
	languagePath = "/language"
	watchedPath  = "/watched"
)

// routes is every address of the site. What belongs to one tank of a job stands
// under the tank's place in it: /jobs/k3f/1/bench.
func (s *Site) routes() http.Handler {
	m := s.crossing()
	m.Handle("GET "+staticPath+"{name...}", static)
	m.HandleFunc("GET /live", s.live)
	page := func(pattern string, h handler) { m.Handle(pattern, s.page(h)) }

	page("GET /{$}", s.jobsPage)
	page("POST /jobs", s.startJob)
	page("POST "+importPath, s.importJobs)
	page("GET "+fromCodePath, s.fromCodePage)
	page("POST "+fromCodePath, s.startFromCode)
	page("GET /words", s.wordsPage)

	page("GET /types", s.typesPage)
	page("GET /types/gather", s.gatherPage)
	page("POST /types/gather", s.gatherType)
	page("GET /types/type", s.typePage)
	page("GET /types/file", s.typeFile)
	page("POST /types/import", s.importType)
	page("POST /types/remove", s.removeType)
	page("POST /types/unit", s.removeUnit)
	page("GET "+signingPath, s.signingPage)
	page("POST /signing/make", s.makeKey)
	page("POST /signing/trust", s.trust)
	page("POST /signing/remove", s.distrust)
	page("POST "+languagePath, s.chooseLanguage)

	if s.o.Watch != nil {
		page("GET "+watchedPath, s.watchedPage)
		page("GET "+watchedPath+"/now", s.watchedNow)
		s.pastRoutes(page)
		s.leftRoutes(m)
		s.alarmRoutes(m)
		s.noticeRoutes(m)
	}

	page("GET /meters", s.metersPage)
	page("POST /meters", s.keepMeter)
	page("POST /meters/try", s.tryMeter)
	page("POST /meters/remove", s.removeMeter)
	page("POST /meters/choose", s.chooseMeter)

	page("GET /jobs/{id}", s.cardPage)
	page("GET /jobs/{id}/open", s.openJob)
	page("GET /jobs/{id}/facts", s.factsPage)
	page("POST /jobs/{id}/facts", s.keepFacts)
	page("POST /jobs/{id}/copy", s.copyJob)
	page("GET /jobs/{id}/file", s.jobFile)
	page("GET /jobs/{id}/signed", s.signedFile)
	page("GET /jobs/{id}/history", s.historyPage)
	page("GET /jobs/{id}/at/{revision}/card", s.pastPage)
	page("GET /jobs/{id}/at/{revision}/changes", s.pastChanges)
	page("GET /jobs/{id}/at/{revision}/file", s.pastFile)
	page("GET /jobs/{id}/at/{revision}/paper", s.pastPaper)
	page("GET /jobs/{id}/at/{revision}/pdf", s.pastPDF)
	page("POST /jobs/{id}/at/{revision}/back", s.putBack)
	page("GET /jobs/{id}/tanks", s.newTankPage)
	page("POST /jobs/{id}/tanks", s.addTank)
	page("POST /jobs/{id}/{n}/remove", s.removeTank)

	page("GET /jobs/{id}/{n}/tank", s.tankPage)
	page("POST /jobs/{id}/{n}/tank", s.keepTank)
	page("POST /jobs/{id}/{n}/tank/look", s.lookAtTank)
	page("GET /jobs/{id}/{n}/contents", s.contentsPage)
	page("POST /jobs/{id}/{n}/contents", s.keepContents)

	page("GET /jobs/{id}/{n}/bench", s.benchPage)
	page("POST /jobs/{id}/{n}/bench", s.keepBench)
	page("POST /jobs/{id}/{n}/bench/take", s.take)
	page("POST /jobs/{id}/{n}/bench/undo", s.undo)
	page("POST /jobs/{id}/{n}/bench/strike", s.strike)
	page("POST /jobs/{id}/{n}/bench/restore", s.restore)
	page("GET /jobs/{id}/{n}/bench/correct", s.correctPage)
	page("POST /jobs/{id}/{n}/bench/correct", s.correct)
	page("POST /jobs/{id}/{n}/bench/hand", s.moveHand)

	page("POST /jobs/{id}/{n}/type", s.keepType)

	page("GET /jobs/{id}/{n}/curve", s.curvePage)
	page("GET /jobs/{id}/{n}/set", s.setPage)
	page("GET /jobs/{id}/{n}/set/try", s.trySetting)
	page("POST /jobs/{id}/{n}/set", s.keepSetting)
	page("GET /jobs/{id}/{n}/prove", s.provePage)
	page("POST /jobs/{id}/{n}/prove", s.keepCheck)
	page("POST /jobs/{id}/{n}/prove/strike", s.strikeCheck)
	page("GET /jobs/{id}/{n}/prove/live", s.proveLivePage)
	page("GET /jobs/{id}/{n}/prove/live/now", s.proveLiveNow)
	page("POST /jobs/{id}/{n}/prove/live", s.keepLiveLook)

	page("GET /jobs/{id}/{n}/later", s.laterPage)
	page("POST /jobs/{id}/{n}/later", s.beginLater)
	page("GET /jobs/{id}/{n}/later/{k}/check", s.checkPage)
	page("POST /jobs/{id}/{n}/later/{k}/check", s.keepCheckSetup)
	page("POST /jobs/{id}/{n}/later/{k}/take", s.take)
	page("POST /jobs/{id}/{n}/later/{k}/undo", s.undo)
	page("POST /jobs/{id}/{n}/later/{k}/strike", s.strike)
	page("POST /jobs/{id}/{n}/later/{k}/restore", s.restore)
	page("POST /jobs/{id}/{n}/later/{k}/hand", s.moveHand)
	page("POST /jobs/{id}/{n}/later/{k}/found", s.keepFound)
	page("POST /jobs/{id}/{n}/later/{k}/drop", s.dropCheck)
	page("POST /jobs/{id}/{n}/later/{k}/bench", s.rebench)

	page("GET /jobs/{id}/record", s.recordPage)
	page("GET /jobs/{id}/record/paper", s.recordPaper)
	page("GET /jobs/{id}/record/pdf", s.recordPDF)
	page("POST /jobs/{id}/record", s.noteRecord)

	page("GET /doors", s.doorsPage)
	page("POST /doors/links", s.makeLink)
	page("POST /doors/tokens", s.makeToken)
	page("POST /doors/revoke", s.revokePass)
	page("POST /doors/phrase", s.setPhrase)
	page("POST /doors/end", s.endAll)
	page("GET /see/{secret}", s.see)
	page("GET /SEE/{secret}", s.see)

	page("GET "+signInPath, s.signInPage)
	page("POST "+signInPath, s.signIn)
	page("POST /sign-out", s.signOut)

	page("/", func(http.ResponseWriter, *http.Request) error { return notFound("There is no such page.") })
	return m
}
