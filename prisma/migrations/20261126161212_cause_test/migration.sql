-- AlterTable
ALTER TABLE "Trial" ADD COLUMN "causeTest" JSONB;
ALTER TABLE "Trial" ADD COLUMN "markThreadId" TEXT;
