-- AlterTable
ALTER TABLE "Photo" ADD COLUMN "cameraPitchDeg" REAL;
ALTER TABLE "Photo" ADD COLUMN "cameraRollDeg" REAL;

-- CreateTable
CREATE TABLE "Landmark" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "viewpointId" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "name" TEXT NOT NULL DEFAULT '',
    "xPx" REAL NOT NULL,
    "yPx" REAL NOT NULL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,
    "deletedAt" DATETIME,
    CONSTRAINT "Landmark_viewpointId_fkey" FOREIGN KEY ("viewpointId") REFERENCES "Viewpoint" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Landmark_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "LandmarkSighting" (
    "landmarkId" TEXT NOT NULL,
    "photoId" TEXT NOT NULL,
    "xPx" REAL,
    "yPx" REAL,
    "createdAt" DATETIME NOT NULL DEFAULT CURRENT_TIMESTAMP,

    PRIMARY KEY ("landmarkId", "photoId"),
    CONSTRAINT "LandmarkSighting_landmarkId_fkey" FOREIGN KEY ("landmarkId") REFERENCES "Landmark" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "LandmarkSighting_photoId_fkey" FOREIGN KEY ("photoId") REFERENCES "Photo" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE INDEX "Landmark_viewpointId_idx" ON "Landmark"("viewpointId");

-- CreateIndex
CREATE INDEX "Landmark_photoId_idx" ON "Landmark"("photoId");

-- CreateIndex
CREATE INDEX "LandmarkSighting_photoId_idx" ON "LandmarkSighting"("photoId");
