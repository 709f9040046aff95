-- CreateIndex
CREATE INDEX "Spray_worded_idx" ON "Spray"("lawnId", "startedAt") WHERE ("note" <> '' OR "applicator" <> '');

-- CreateIndex
CREATE INDEX "LawnEvent_worded_idx" ON "LawnEvent"("lawnId", "at") WHERE ("note" <> '' OR "subject" <> '' OR "detail" IS NOT NULL);
