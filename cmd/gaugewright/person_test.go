package main

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// person works the pages in a browser, by touch or by the keyboard alone.
type person struct {
	t    *testing.T
	ctx  context.Context
	keys bool
}

// run carries out one action of the browser.
func run1[T any](p *person, what string, a chromedp.Action[T]) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, time.Minute)
	defer cancel()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		p.t.Fatalf("%s: %v\nat %s, where the page says:\n%s", what, err, p.eval("location.href"), p.eval("document.body.innerText"))
	}
	return v
}

// eval gives what an expression comes to on the page.
func (p *person) eval(expression string) string {
	text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string]("String("+expression+")"))
	if err != nil {
		return err.Error()
	}
	return strings.ReplaceAll(text, "\u00a0", " ")
}

// wait looks again until an expression is true on the page.
func (p *person) wait(expression string) {
	p.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(15 * time.Millisecond) {
		if p.eval("Boolean("+expression+")") == "true" {
			return
		}
	}
	p.t.Fatalf("it never came about that %s\nat %s, where the page says:\n%s", expression, p.eval("location.href"), p.eval("document.body.innerText"))
}

// see waits until an element says something.
func (p *person) see(selector, want string) {
	p.t.Helper()
	p.wait(fmt.Sprintf("(document.querySelector(%q)?.innerText ?? '').replaceAll('\\u00a0', ' ').includes(%q)", selector, want))
}

// arrive waits until the browser is at an address that ends so, and has loaded
// its page.
func (p *person) arrive(ending string) {
	p.t.Helper()
	p.wait(fmt.Sprintf("document.readyState === 'complete' && location.pathname.endsWith(%q)", ending))
}

// mostTabs is far more than any page has places to stop at.
const mostTabs = 250

// to brings the focus to an element with the tab key, as someone would who has
// no other way.
func (p *person) to(selector string) {
	p.t.Helper()
	p.wait(fmt.Sprintf("document.querySelector(%q)", selector))
	here := fmt.Sprintf("document.activeElement.matches(%q)", selector)
	for range mostTabs {
		if p.eval(here) == "true" {
			return
		}
		run1(p, "the tab key", chromedp.KeyEvent(kb.Tab))
	}
	p.t.Fatalf("the tab key doesn't lead to %s\nat %s", selector, p.eval("location.href"))
}

// press pushes a button or follows a link.
func (p *person) press(selector string) {
	p.t.Helper()
	if p.keys {
		p.to(selector)
		run1(p, "the enter key on "+selector, chromedp.KeyEvent(kb.Enter))
		return
	}
	run1(p, "pressing "+selector, chromedp.Click(selector))
}

// write puts a text into a field in the place of what is there.
func (p *person) write(selector, text string) {
	p.t.Helper()
	if p.keys {
		p.to(selector)
	} else {
		run1(p, "pressing "+selector, chromedp.Click(selector))
	}
	// The tab key selects what a field holds; by touch one selects it first.
	p.eval("document.activeElement.select()")
	run1(p, "typing into "+selector, chromedp.KeyEvent(text))
}

// choose picks one of several, which a label or the arrow keys lead to.
func (p *person) choose(name, value string) {
	p.t.Helper()
	one := fmt.Sprintf("input[name=%q][value=%q]", name, value)
	if !p.keys {
		run1(p, "choosing "+one, chromedp.Click(one))
		return
	}
	p.to(fmt.Sprintf("input[name=%q]", name))
	for range 20 {
		if p.eval(fmt.Sprintf("document.activeElement.matches(%q) && document.activeElement.checked", one)) == "true" {
			return
		}
		run1(p, "the arrow keys", chromedp.KeyEvent(kb.ArrowDown))
		if p.eval(fmt.Sprintf("document.activeElement.matches(%q) && !document.activeElement.checked", one)) == "true" {
			run1(p, "the space bar", chromedp.KeyEvent(" "))
		}
	}
	// With one alone the arrow keys do nothing.
	run1(p, "the space bar", chromedp.KeyEvent(" "))
	if p.eval(fmt.Sprintf("document.querySelector(%q).checked", one)) != "true" {
		p.t.Fatalf("the arrow keys don't lead to %s", one)
	}
}
