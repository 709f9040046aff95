# Makes r-datasets.json: Rscript r-datasets.R > r-datasets.json
# R 4.2.2 with MASS, car 3.1-1, emmeans 1.8.4.1, multcomp 1.4.22 (Debian 12 packages). The datasets are those R and MASS ship.
suppressMessages({library(MASS);library(car);library(emmeans);library(multcomp);library(jsonlite);library(mvtnorm)})
an <- function(a) list(df=a[["Df"]],ss=a[["Sum Sq"]],f=a[["F value"]],p=a[["Pr(>F)"]])
one <- function(m) { s<-summary(m)[[1]]; c(list(source=trimws(rownames(s))),an(s)) }
tk <- function(m,v) { e<-emmeans(m,v); p<-summary(pairs(e,adjust="tukey")); list(pairs=gsub(" ","",as.character(p$contrast)),difference=p$estimate,p=p$p.value) }
cldl <- function(m,v) { a<-list(m,linfct=NULL); l<-setNames(list("Tukey"),v); g<-glht(m,linfct=do.call(mcp,l)); cld(g)$mcletters$Letters }
dun <- function(m,v) { l<-setNames(list("Dunnett"),v); g<-glht(m,linfct=do.call(mcp,l)); V<-vcov(g);R<-cov2cor(V);t<-coef(g)/sqrt(diag(V));df<-df.residual(m)
  sapply(t,function(x) 1-as.numeric(pmvt(rep(-abs(x),length(t)),rep(abs(x),length(t)),df=df,corr=R,algorithm=GenzBretz(maxpts=2e6,abseps=1e-6)))) }
out <- list()
m<-aov(yield~block+N*P*K,npk); out$npk<-list(data=npk[,c("block","N","P","K","yield")],full=one(m),additive=one(aov(yield~block+N+K,npk)))
m<-aov(breaks~wool+tension,warpbreaks); out$warpbreaks<-list(data=warpbreaks,full=one(aov(breaks~wool*tension,warpbreaks)),tukey=tk(m,"tension"),letters=cldl(m,"tension"))
m<-aov(count~spray,InsectSprays); ms<-aov(sqrt(count)~spray,InsectSprays); k<-kruskal.test(count~spray,InsectSprays)
out$InsectSprays<-list(data=InsectSprays,raw=one(m),root=one(ms),tukeyRoot=tk(ms,"spray"),lettersRaw=cldl(m,"spray"),lettersRoot=cldl(ms,"spray"),dunnettRoot=unname(dun(ms,"spray")),kruskal=list(statistic=unname(k$statistic),p=k$p.value),levene=leveneTest(count~spray,InsectSprays)[1,c("F value","Pr(>F)")])
m<-aov(weight~group,PlantGrowth); k<-kruskal.test(weight~group,PlantGrowth); b<-bartlett.test(weight~group,PlantGrowth)
out$PlantGrowth<-list(data=PlantGrowth,table=one(m),tukey=tk(m,"group"),letters=cldl(m,"group"),dunnett=unname(dun(m,"group")),kruskal=list(statistic=unname(k$statistic),p=k$p.value),bartlett=list(statistic=unname(b$statistic),p=b$p.value))
a<-summary(aov(Y~N*V+Error(B/V),oats)); out$oats<-list(data=setNames(oats,c("block","variety","nitrogen","yield")),whole=an(a[["Error: B:V"]][[1]]),sub=an(a[["Error: Within"]][[1]]))
w<-warpbreaks[-c(1,2,10,25,33,34,50),]; options(contrasts=c("contr.sum","contr.poly")); mw<-lm(breaks~wool*tension,w)
A2<-Anova(mw,type=2);A3<-Anova(mw,type=3); options(contrasts=c("contr.treatment","contr.poly"))
out$warpUnbalanced<-list(rowsDropped=c(1,2,10,25,33,34,50),typeTwo=list(ss=A2[1:3,"Sum Sq"],f=A2[1:3,"F value"],p=A2[1:3,"Pr(>F)"]),typeThree=list(ss=A3[2:4,"Sum Sq"],f=A3[2:4,"F value"],p=A3[2:4,"Pr(>F)"]))
m<-lm(stack.loss~Air.Flow+Water.Temp+Acid.Conc.,stackloss); s<-summary(m); ci<-confint(m); pr<-predict(m,data.frame(Air.Flow=60,Water.Temp=20,Acid.Conc.=85),interval="confidence");pp<-predict(m,data.frame(Air.Flow=60,Water.Temp=20,Acid.Conc.=85),interval="prediction")
ot<-outlierTest(m,cutoff=Inf,n.max=3)
out$stackloss<-list(data=stackloss,coef=unname(s$coefficients[,1]),se=unname(s$coefficients[,2]),p=unname(s$coefficients[,4]),low=unname(ci[,1]),high=unname(ci[,2]),sigma=s$sigma,r2=s$r.squared,f=unname(s$fstatistic[1]),hat=unname(hatvalues(m)),cook=unname(cooks.distance(m)),vif=unname(vif(m)),confidence=unname(pr[1,]),prediction=unname(pp[1,]),rstudent=unname(rstudent(m)),outlier=list(index=as.integer(names(ot$rstudent)[1]),bonferroni=unname(ot$p[1]*nrow(stackloss))))
s1<-subset(sleep,group==1)$extra;s2<-subset(sleep,group==2)$extra;out$sleep<-list(first=s1,second=s2)
R<-matrix(c(5.40,5.50,5.55,5.85,5.70,5.75,5.20,5.60,5.50,5.55,5.50,5.40,5.90,5.85,5.70,5.45,5.55,5.60,5.40,5.40,5.35,5.45,5.50,5.35,5.25,5.15,5.00,5.85,5.80,5.70,5.25,5.20,5.10,5.65,5.55,5.45,5.60,5.35,5.45,5.05,5.00,4.95,5.50,5.50,5.40,5.45,5.55,5.50,5.55,5.55,5.35,5.45,5.50,5.55,5.50,5.45,5.25,5.65,5.60,5.40,5.70,5.65,5.55,6.30,6.30,6.25),22,byrow=TRUE)
f<-friedman.test(R); out$RoundingTimes<-list(data=R,statistic=unname(f$statistic),p=f$p.value)
set.seed(7); P<-list(); for(i in 1:60){k<-sample(3:8,1);mu<-sort(round(rnorm(k),2));s<-matrix(FALSE,k,k);cut<-runif(1,.3,1.5);pr<-t(combn(k,2));sg<-apply(pr,1,function(x)abs(mu[x[1]]-mu[x[2]])*runif(1,.6,1.4)>cut);names(sg)<-paste(pr[,1],pr[,2],sep="-");L<-multcompView::multcompLetters(sg)$Letters[as.character(1:k)];P[[i]]<-list(means=mu,pairs=pr[sg,,drop=FALSE],letters=unname(L))}
out$letters<-P
q<-expand.grid(q=c(.5,1.5,3,4.5,6),k=c(2,3,5,8,12),df=c(2,5,9,20,60,Inf)); q$p<-ptukey(q$q,q$k,q$df,lower.tail=FALSE); q$df[is.infinite(q$df)]<- -1
out$ptukey<-q
cat(toJSON(out,digits=12,auto_unbox=TRUE,dataframe="columns"))
