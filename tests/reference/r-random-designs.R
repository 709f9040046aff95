# Makes r-random-designs.json: Rscript r-random-designs.R > r-random-designs.json (about 100 s)
# R 4.2.2 with emmeans 1.8.4.1, multcomp 1.4.22, multcompView 0.1.8, mvtnorm (Debian 12 packages).
suppressMessages({library(multcomp);library(emmeans);library(jsonlite);library(mvtnorm)})
RNGkind("Mersenne-Twister","Inversion","Rejection")
set.seed(20240611)
cases <- list()
for (cs in 1:24) {
  layout <- c("crd","rcbd","rcbd","latin")[(cs-1)%%4+1]
  k <- if (layout=="latin") sample(4:5,1) else sample(3:6,1)
  b <- if (layout=="latin") k else sample(3:5,1)
  if (layout=="latin") {
    d <- expand.grid(row=1:k,col=1:k); d$trt <- ((d$row+d$col)%%k)+1
  } else { d <- expand.grid(trt=1:k,row=1:b); d$col <- 1 }
  eff <- rnorm(k,0,sample(c(0,.01,.03),1,prob=c(.2,.4,.4))); 
  d$y <- round(0.45+eff[d$trt]+rnorm(max(d$row),0,.01)[d$row]+rnorm(max(d$col),0,.005)[d$col]+rnorm(nrow(d),0,.008),4)
  nm <- if (cs<=4) 0 else sample(1:3,1)
  if (nm>0) d <- d[-sample(nrow(d),nm),]
  d <- d[sample(nrow(d)),]
  d$trt <- factor(paste0("T",d$trt)); d$row<-factor(paste0("R",d$row)); d$col<-factor(paste0("C",d$col))
  f <- switch(layout, crd=y~trt, rcbd=y~row+trt, latin=y~row+col+trt)
  m <- lm(f,d)
  a <- drop1(m,test="F"); 
  em <- emmeans(m,"trt"); es <- summary(em)
  pw <- summary(pairs(em,adjust="tukey")); pl <- summary(pairs(em,adjust="none"))
  dn <- glht(m,linfct=mcp(trt="Dunnett"))
  V <- vcov(dn); R <- cov2cor(V); tst <- coef(dn)/sqrt(diag(V)); df<-df.residual(m)
  pd <- sapply(tst,function(t) 1-as.numeric(pmvt(lower=rep(-abs(t),length(tst)),upper=rep(abs(t),length(tst)),df=df,corr=R,algorithm=GenzBretz(maxpts=2e6,abseps=2e-6))))
  p1 <- sapply(tst,function(t) 1-as.numeric(pmvt(lower=rep(-Inf,length(tst)),upper=rep(t,length(tst)),df=df,corr=R,algorithm=GenzBretz(maxpts=2e6,abseps=2e-6))))
  cl <- cld(em,Letters=letters); clu <- cld(em,Letters=letters,adjust="none")
  g <- glht(m,linfct=mcp(trt="Tukey")); 
  tk <- pw$p.value
  lev <- levels(d$trt)
  gg <- function(c) setNames(trimws(as.character(c$.group)),as.character(c$trt))[lev]
  # letters in level order through multcomp's own insert_absorb on the emmeans decisions
  prs <- t(combn(lev,2)); sig <- setNames(tk<.05, paste(prs[,1],prs[,2],sep="-"))
  ml <- multcompView::multcompLetters(sig)$Letters[lev]
  cases[[cs]] <- list(layout=layout,response=d$y,treatment=as.character(d$trt),row=as.character(d$row),col=as.character(d$col),
    levels=lev, errorDf=df, errorMs=sigma(m)^2, f=a["trt","F value"], p=a["trt","Pr(>F)"],
    emmean=es$emmean, se=es$SE, low=es$lower.CL, high=es$upper.CL, pairs=apply(prs,1,paste,collapse="-"),
    difference=pw$estimate, tukeyP=pw$p.value, plainP=pl$p.value, dunnettP=as.numeric(pd), dunnettGreaterP=as.numeric(p1),
    lettersTukeyLowestFirst=unname(gg(cl)), lettersPlainLowestFirst=unname(gg(clu)), lettersTukeyAsGiven=unname(ml))
}
out <- list(source="R 4.2.2, emmeans 1.8.4.1, multcomp 1.4.22, multcompView 0.1.8, mvtnorm; tests/reference/r-random-designs.R", cases=cases)
cat(toJSON(out,digits=12,auto_unbox=TRUE))
