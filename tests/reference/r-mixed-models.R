# Makes r-mixed-models.json: Rscript r-mixed-models.R > r-mixed-models.json (some minutes)
# R 4.2.2, lme4 1.1.31, nlme 3.1.162, pbkrtest 0.5.2, emmeans 1.8.4.1 (Debian 12 packages).
# lmer is driven far past its usual tolerance (bobyqa, rhoend 1e-11), since 1e-3 in degrees of freedom asks for it.
suppressMessages({library(lme4);library(nlme);library(pbkrtest);library(emmeans);library(jsonlite)})
emm_options(pbkrtest.limit=5000,lmerTest.limit=5000)
RNGkind("Mersenne-Twister","Inversion","Rejection"); set.seed(20250314)
ctl <- lmerControl(optimizer="bobyqa",optCtrl=list(rhobeg=0.2,rhoend=1e-11,maxfun=50000),check.conv.singular="ignore",calc.derivs=FALSE,
  check.nobs.vs.nRE="ignore",check.nobs.vs.nlev="ignore",check.nobs.vs.rankZ="ignore",check.rankX="ignore")
refined <- function(f,d) { m<-suppressMessages(suppressWarnings(lmer(f,d,control=ctl)))
  for (k in 1:2) { s<-getME(m,"theta"); m2<-suppressMessages(suppressWarnings(update(m,start=s))); if (REMLcrit(m2)<=REMLcrit(m)) m<-m2 }; m }
facs <- function(d,v) { for (x in v) d[[x]]<-factor(d[[x]],levels=unique(as.character(d[[x]]))); d }
contr <- function(m,spec) { e<-suppressMessages(emmeans(m,spec,lmer.df="kenward-roger")); s<-summary(e); p<-summary(pairs(e,adjust="none"))
  p<-head(p,15) # the first 15 differences
  list(of=spec,levels=apply(as.matrix(s[,spec,drop=FALSE]),1,paste,collapse="|"),mean=s$emmean,se=s$SE,df=s$df,difference=p$estimate,dse=p$SE,ddf=p$df,dp=p$p.value) }
Ltest <- function(m,spec) { e<-suppressMessages(emmeans(m,spec,lmer.df="asymptotic")); f<-if (length(spec)==1) contrast(e,"trt.vs.ctrl") else contrast(e,interaction="trt.vs.ctrl")
  L<-f@linfct; k<-suppressMessages(KRmodcomp(m,L))$test["Ftest",]; list(of=spec,f=k$stat,df1=k$ndf,df2=k$ddf,p=k$p.value) }
var0 <- function(m) { v<-as.data.frame(VarCorr(m)); setNames(as.list(v$vcov),v$grp) }
out <- list()
put <- function(kind,d,cols,m,specs,tests,extra=NULL,name=NULL) {
  c0<-list(kind=kind,data=as.list(setNames(lapply(cols,function(x) if (is.factor(d[[x]])) as.character(d[[x]]) else d[[x]]),cols)),variances=var0(m),
    means=lapply(specs,function(s) contr(m,s)),tests=lapply(tests,function(s) Ltest(m,s)))
  c0<-c(c0,extra); if (!is.null(name)) c0$name<-name; out[[length(out)+1]]<<-c0 }
ok <- function(e) tryCatch(e,error=function(err) message(conditionMessage(err)))
drop <- function(d,n) if (n>0) d[-sample(nrow(d),n),] else d
# published data
d<-facs(setNames(MASS::oats,c("block","main","sub","y")),c("block","main","sub")); m<-refined(y~block+main*sub+(1|block:main),d); put("split",d,c("block","main","sub","y"),m,list("main","sub",c("main","sub")),list("main","sub",c("main","sub")),name="oats (Yates 1935)")
d2<-d[-c(3,17,40,41,66),]; m<-refined(y~block+main*sub+(1|block:main),d2); put("split",d2,c("block","main","sub","y"),m,list("main","sub",c("main","sub")),list("main","sub",c("main","sub")),name="oats without rows 3, 17, 40, 41, 66")
data(beets,package="pbkrtest"); d<-facs(data.frame(block=beets$block,main=beets$harvest,sub=beets$sow,y=beets$sugpct),c("block","main","sub")); m<-refined(y~block+main*sub+(1|block:main),d); put("split",d,c("block","main","sub","y"),m,list("main","sub"),list("main","sub"),name="beets (Halekoh & Hojsgaard 2014)")
d<-facs(data.frame(row=Penicillin$plate,col=Penicillin$sample,y=Penicillin$diameter,x1=round(rnorm(144),2)),c("row","col")); m<-refined(y~x1+(1|row)+(1|col),d); s<-coef(summary(m))
V0<-vcov(m);VA<-vcovAdj(m); slope<-function(m,i){ L<-rep(0,length(fixef(m)));L[i]<-1; list(value=unname(fixef(m)[i]),se=sqrt(VA[i,i]),df=Lb_ddf(L,vcov(m),VA)) }
put("crossed",d,c("row","col","x1","y"),m,list(),list(),list(slopes=list(slope(m,2))),name="Penicillin (Davies 1947) with a made-up x")
d<-facs(data.frame(block=as.character(npk$block),trt=paste0(npk$N,npk$P,npk$K),y=npk$yield),c("block","trt")); m<-refined(y~trt+(1|block),d); put("incomplete",d,c("block","trt","y"),m,list("trt"),list("trt"),name="npk (Yates 1937): 8 treatments in blocks of 4")
d<-facs(data.frame(subject=as.character(Orthodont$Subject),trt=as.character(Orthodont$Sex),day=Orthodont$age,y=Orthodont$distance),c("subject","trt")); d$dayf<-factor(d$day); m<-refined(y~trt*dayf+(1|subject),d); put("symmetry",d,c("subject","trt","day","y"),m,list("trt",c("trt","dayf")),list("trt","dayf",c("trt","dayf")),name="Orthodont (Potthoff & Roy 1964)")
# random ones
for (i in 1:60) ok({ b<-sample(3:5,1);a<-sample(2:4,1);s<-sample(2:4,1); d<-expand.grid(sub=paste0("s",1:s),main=paste0("m",1:a),block=paste0("b",1:b)); sw<-sample(c(0,.5,1,2),1)
  d$y<-round(10+rnorm(a)[as.integer(d$main)]+rnorm(s)[as.integer(d$sub)]+rnorm(b)[as.integer(d$block)]+sw*rnorm(a*b)[as.integer(interaction(d$main,d$block))]+rnorm(nrow(d)),3)
  d<-facs(drop(d,sample(0:4,1)),c("block","main","sub")); if (any(table(d$main,d$sub)==0)) next
  m<-refined(y~block+main*sub+(1|block:main),d); put("split",d,c("block","main","sub","y"),m,list("main","sub",c("main","sub")),list("main","sub",c("main","sub"))) })
for (i in 1:50) ok({ k<-sample(5:8,1);size<-sample(2:4,1);b<-sample(6:10,1); d<-do.call(rbind,lapply(1:b,function(j) data.frame(block=paste0("b",j),trt=paste0("t",(c(0,sample(1:(k-1),size-1))+j)%%k)))); sb<-sample(c(0,.7,1.5),1)
  d$y<-round(5+rnorm(k)[as.integer(factor(d$trt))]+sb*rnorm(b)[as.integer(factor(d$block))]+rnorm(nrow(d)),3); d<-facs(d,c("block","trt")); if (length(levels(d$trt))<k||nrow(d)<k+4) next
  m<-refined(y~trt+(1|block),d); put("incomplete",d,c("block","trt","y"),m,list("trt"),list("trt")) })
for (i in 1:35) ok({ b<-sample(3:5,1);a<-sample(2:4,1);s<-sample(2:4,1); d<-expand.grid(sub=paste0("s",1:s),main=paste0("m",1:a),block=paste0("b",1:b))
  d$y<-round(10+rnorm(a)[as.integer(d$main)]+rnorm(s)[as.integer(d$sub)]+rnorm(b)[as.integer(d$block)]+rnorm(a*b)[as.integer(interaction(d$main,d$block))]+.8*rnorm(s*b)[as.integer(interaction(d$sub,d$block))]+.7*rnorm(nrow(d)),3)
  d<-facs(drop(d,sample(0:3,1)),c("block","main","sub")); if (any(table(d$main,d$sub)==0)) next
  m<-refined(y~block+main*sub+(1|block:main)+(1|block:sub),d); put("strip",d,c("block","main","sub","y"),m,list("main","sub",c("main","sub")),list("main","sub",c("main","sub"))) })
for (i in 1:30) ok({ r<-sample(6:12,1);c<-sample(3:6,1); d<-expand.grid(row=paste0("r",1:r),col=paste0("c",1:c)); d<-d[runif(nrow(d))<.8,]; x<-round(rnorm(r),2); d$x1<-x[as.integer(d$row)]; d$x2<-round(rnorm(nrow(d)),2)
  d$y<-round(.5*d$x1-.3*d$x2+rnorm(r)[as.integer(d$row)]*sample(c(0,1),1)+.6*rnorm(c)[as.integer(d$col)]+rnorm(nrow(d)),3); d<-facs(d,c("row","col"))
  m<-refined(y~x1+x2+(1|row)+(1|col),d); VA<-vcovAdj(m); slope<-function(i){ L<-c(0,0,0);L[i]<-1; list(value=unname(fixef(m)[i]),se=sqrt(VA[i,i]),df=Lb_ddf(L,vcov(m),VA)) }
  put("crossed",d,c("row","col","x1","x2","y"),m,list(),list(),list(slopes=list(slope(2),slope(3)))) })
for (i in 1:25) ok({ k<-sample(2:4,1);b<-sample(3:4,1);days<-sort(sample(1:21,sample(3:5,1))); d<-expand.grid(day=days,trt=paste0("t",1:k),block=paste0("b",1:b)); d$subject<-paste(d$block,d$trt)
  d$y<-round(rnorm(k)[as.integer(d$trt)]+rnorm(b)[as.integer(d$block)]+.8*rnorm(k*b)[as.integer(factor(d$subject))]+rnorm(nrow(d)),3); d<-facs(drop(d,sample(0:3,1)),c("block","trt","subject")); d$dayf<-factor(d$day,levels=days)
  if (any(table(d$trt,d$dayf)==0)) next
  m<-refined(y~block+trt*dayf+(1|subject),d); put("symmetry",d,c("block","trt","subject","day","y"),m,list("trt",c("trt","dayf")),list("trt","dayf",c("trt","dayf"))) })
message(length(out)," cases")
cat(toJSON(list(source="R 4.2.2, lme4 1.1.31, nlme 3.1.162, pbkrtest 0.5.2, emmeans 1.8.4.1; tests/reference/r-mixed-models.R",cases=out),digits=I(11),auto_unbox=TRUE))
