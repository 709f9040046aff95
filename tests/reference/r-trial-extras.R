# Makes r-trial-extras.json: Rscript r-trial-extras.R > r-trial-extras.json
# R 4.2.2 with emmeans 1.8.4.1, multcomp 1.4.22, mvtnorm 1.1.3 (Debian 12 packages): rate response by orthogonal polynomials (lm on the
# rates, blocks first, complete data), analysis of covariance, Pitman-Morgan as the correlation of sums and differences (cor.test),
# equivalence by one-sided Dunnett (pmvt), Holm (p.adjust), and the largest |t| of correlated comparisons (pmvt, qmvt).
suppressMessages({library(emmeans);library(jsonlite);library(mvtnorm)}); RNGkind("Mersenne-Twister","Inversion","Rejection"); set.seed(77)
rates<-c(0,1,2,4,8); d<-expand.grid(rate=rates,block=paste0("b",1:4)); d$y<-round(5+.6*d$rate-.05*d$rate^2+rnorm(4)[as.integer(factor(d$block))]+rnorm(20)*.5,3)
P<-poly(d$rate,4); m<-lm(y~block+P,d); s<-coef(summary(m)); full<-lm(y~block+factor(rate),d); red<-lm(y~block+rate+I(rate^2),d); lin<-lm(y~block+rate,d); lof<-anova(red,full)
# slope of the orthogonal linear part and coefficient of the square, with the error of the full model
sig<-sigma(full); slope<-coef(lin)["rate"]; seSlope<-sig/sqrt(4*sum((rates-mean(rates))^2)); q<-coef(red)["I(rate^2)"]; r2<-resid(lm(rates^2~rates)); seQ<-sig/sqrt(4*sum(r2^2))
out<-list(rate=list(rate=d$rate,block=as.character(d$block),y=d$y,slope=unname(slope),slopeSe=seSlope,linearP=s["P1",4],quadratic=unname(q),quadraticSe=seQ,quadraticP=s["P2",4],lackF=lof$F[2],lackP=lof$`Pr(>F)`[2],turn=unname(-coef(red)["rate"]/(2*coef(red)["I(rate^2)"]))))
a<-expand.grid(trt=paste0("t",1:4),block=paste0("b",1:5)); a$x<-round(rnorm(20,10),3); a$y<-round(.8*a$x+as.integer(a$trt)*.4+rnorm(20)*.5,3); m<-lm(y~x+block+trt,a); e<-summary(emmeans(m,"trt")); pr<-summary(pairs(emmeans(m,"trt"),adjust="none"))
out$covariance<-list(trt=as.character(a$trt),block=as.character(a$block),x=a$x,y=a$y,mean=e$emmean,se=e$SE,difference=pr$estimate,dse=pr$SE,p=pr$p.value,f=anova(lm(y~x+block,a),m)$F[2])
x<-round(rnorm(9),3); y<-round(.3*x+rnorm(9)*2,3); ct<-cor.test(x+y,x-y); out$pitman<-list(x=x,y=y,t=unname(ct$statistic),p=ct$p.value)
# equivalence: three treatments against a check, 6 plots each, one-way
g<-rep(c("check","a","b","c"),each=6); v<-round(rnorm(24)*.8+c(check=0,a=.1,b=.3,c=1.2)[g],3); mm<-lm(v~factor(g,levels=c("check","a","b","c"))); dif<-coef(mm)[2:4]; se<-sigma(mm)*sqrt(2/6); R<-matrix(.5,3,3);diag(R)<-1; df<-20; margin<-1.5
tt<-(margin-abs(dif))/se; pe<-sapply(tt,function(t) 1-pmvt(upper=rep(t,3),df=df,corr=R,algorithm=GenzBretz(maxpts=1e6,abseps=1e-7))[1]); q1<-qmvt(.95,df=df,corr=R,tail="lower.tail")$quantile
out$alike<-list(group=g,value=v,margin=margin,p=as.numeric(pe),low=unname(dif-q1*se),high=unname(dif+q1*se))
p<-round(runif(7)^3,4); out$holm<-list(p=p,adjusted=p.adjust(p,"holm"))
C<-.6^abs(outer(1:5,1:5,"-")); out$largest<-list(correlation=C,df=12,at=c(1.5,2.2,2.9),p=sapply(c(1.5,2.2,2.9),function(t) 1-pmvt(rep(-t,5),rep(t,5),df=12,corr=C,algorithm=GenzBretz(maxpts=1e6,abseps=1e-7))[1]),quantile=qmvt(.95,df=12,corr=C,tail="both.tails")$quantile)
cat(toJSON(c(list(source="R 4.2.2; tests/reference/r-trial-extras.R"),out),digits=I(12),auto_unbox=TRUE))
