package web
import ("testing";"fmt";"gaugewright/internal/browser")
func TestZZ(t *testing.T){ b:=open(t); id:=b.start(sample(t)); 
ctx:=browser.Open(t)
for n:=1;n<=3;n++ { for _,p:=range []string{"curve","set"} {
 for _,w:=range []int{390,820,1440}{ for _,d:=range []bool{false,true}{
 if d && n!=1 {continue}
 q:=""; if p=="set"&&n==1 {q="?lower=3&upper=98"}
 browser.View(t,ctx,w,900,d)
 browser.Go(t,ctx,b.url+fmt.Sprintf("/jobs/%s/%d/%s%s",id,n,p,q))
 dk:=""; if d {dk="-dark"}
 browser.Screenshot(t,ctx,w,900,d,fmt.Sprintf("/tmp/shots/curveset/%s%d-%d%s.png",p,n,w,dk))
 if w==390 {for _,v:=range browser.Axe(t,ctx){t.Errorf("%s %d: %s",p,n,v)}}
 browser.NoSidewaysScroll(t,ctx,w)
 }}}}
}
