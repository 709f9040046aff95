-- CreateTable
CREATE TABLE "DoorSession" (
    "hash" TEXT NOT NULL PRIMARY KEY,
    "createdAt" DATETIME NOT NULL,
    "endsAt" DATETIME NOT NULL
);

-- CreateIndex
CREATE INDEX "DoorSession_endsAt_idx" ON "DoorSession"("endsAt");
