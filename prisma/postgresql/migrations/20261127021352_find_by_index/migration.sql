-- DropIndex
DROP INDEX "Photo_lawnId_takenAt_idx";

-- CreateIndex
CREATE INDEX "Photo_lawnId_takenAt_deletedAt_fileName_idx" ON "Photo"("lawnId", "takenAt", "deletedAt", "fileName");
